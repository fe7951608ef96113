"""What is said of the published fork test: its sentences for the page of strength and `check`."""

from geometry.braking.fork_test import ForkTest, Stage, damage
from geometry.braking.strength import Strength, entry_of, ordinary_sums
from geometry.core.say import Say, say
from sheets.words.strength import section, times
from sheets.words.tell import tell
from sheets.words.two import two


def test_words(found: Strength, forked: ForkTest | None) -> tuple[str, ...]:
    """Return what each part of the published fork test does to the leg; nothing where it is no fork's."""
    if forked is None or found.test_force is None or found.test_arm is None:
        return ()
    cut = forked.weak.cut
    pushed = tell(
        "fork_test.pushed",
        force=found.test_force.value,
        how=found.test_arm_words,
        arm=found.test_arm.value,
        grade=found.test_force.grade,
        torque=forked.torque / 1000.0,
        moment=abs(cut.moment) / 1000.0,
        section=section(forked.weak),
    )
    open_ = tell("fork_test.cannot_tell", **_ordinary())
    if forked.joint == "brazed":
        open_ = tell("fork_test.cannot_tell_brazed")
    return pushed, _held_words(forked), _repeated_words(forked), open_


def _held_words(forked: ForkTest) -> str:
    limit, stress = forked.weak.limit, forked.stress
    held = tell("fork_test.held", force=forked.held.value, minutes=forked.minutes.value, stress=stress)
    if limit is None or forked.folds is None:
        return held
    code = "below" if not forked.bends else "folds" if _folds(forked) else "bends"
    judged = tell(f"fork_test.held_{code}", limit=limit.value, grade=limit.grade, folds=forked.folds)
    return f"{held} {judged}"


def _repeated_words(forked: ForkTest) -> str:
    asked, racing = tuple(map(_asked, forked.stages)), tuple(map(_asked, forked.racing))
    if forked.joint == "brazed":
        return tell("fork_test.repeated_brazed", asked=asked, racing=racing)
    return tell(
        "fork_test.repeated",
        asked=asked,
        band=entry_of("fatigue", "range").value,
        first=times(forked.stages[0].borne),
        second=times(forked.stages[1].borne),
        sum=two(forked.damage),
        half=entry_of("fatigue", "half").value,
        grade=entry_of("fatigue", "range").grade,
        racing=racing,
        racing_sum=two(damage(forked.racing)),
    )


def _asked(stage: Stage) -> Say:
    return say("fork_test.stage", cycles=stage.cycles.value, force=stage.force.value)


def _ordinary() -> dict[str, str]:
    least, most = ordinary_sums()
    return {"least": two(least), "most": two(most)}


def verdict(forked: ForkTest | None) -> str:
    """Return what the published fork test may do to the leg, for below the verdict; empty for nothing."""
    if forked is None:
        return ""
    if not forked.bends:
        return tell("fork_test.verdict.repeated") if forked.short else ""
    code = "both" if forked.short else "held"
    return tell(f"fork_test.verdict.{code}{'_folds' * _folds(forked)}", force=forked.held.value)


def _folds(forked: ForkTest) -> bool:
    """Tell whether the force that is held is more than a plain tube bears before it folds."""
    return forked.folds is not None and forked.stress >= forked.folds


def held_brief(forked: ForkTest) -> str:
    """Return in one line of a terminal what the force that is held does to the leg."""
    limit = forked.weak.limit
    return tell(
        "fork_test.brief.held_folds" if _folds(forked) else "fork_test.brief.held",
        force=forked.held.value,
        stress=forked.stress,
        where=say(f"strength.brief.at.{forked.weak.at}"),
        limit=0.0 if limit is None else limit.value,
        grade="D" if limit is None else limit.grade,
    )


def test_brief(forked: ForkTest) -> str:
    """Return in one line of a terminal what the repeated stages ask beyond what the leg may bear."""
    return tell("fork_test.brief.repeated", sum=two(forked.damage))
