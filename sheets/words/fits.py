"""What is said of a mount that fits another row or size than the one it is called by."""

from geometry.core.findings import Finding
from geometry.core.say import Say, Value, named, say
from geometry.survey.fits import Fit, Fitting, Place, fitting
from geometry.survey.recall import effect
from geometry.tables.axles import End
from geometry.tables.interfaces import Interface
from sheets.words.tell import tell


def called(fit: Fit, end: End) -> Say:
    """Return a row and its size; its end where that is not the mount's."""
    if fit.end == end:
        return say("fits.row", row=fit.row, native=fit.native)
    return say("fits.row_at_end", row=fit.row, end=named(fit.end), native=fit.native)


def doubts(found: Fitting, end: End, native: float) -> tuple[str, ...]:
    """Return what is to be confirmed before a mount that was read is kept for this end and native size."""
    said = []
    other, best, away = found.other, found.best, found.stranger
    if other is not None:
        against = say("fits.no_such_size", native=native)
        if found.named is not None:
            against = say("fits.as_named", off=found.named.off, row=called(found.named, end))
        code = "fits.other_end" if other.end != end else "fits.other_size"
        said.append(tell(code, off=other.off, row=called(other, end), native=other.native, against=against))
    if found.stray:
        parts = [tell("fits.none_near", row=called(best, end), off=best.off)]
        parts += [tell("fits.derived")] if best.provisional else []
        parts += [tell("fits.stranger", row=called(away, end), off=away.off)] if away is not None else []
        said.append(" ".join(parts))
    across = found.across
    if across is not None and across.other_end:
        off_named, off_other = across.named or 0.0, across.other or 0.0
        there = named("front" if end == "rear" else "rear")
        said.append(
            tell("fits.other_end_across", end=named(end), other=there, named=off_named, off=off_other)
        )
    if found.recall is not None and found.surely:
        off = effect(found.recall)
        said.append(tell("fits.recalled", fits=found.recall.fits, near=off.near, far=off.far))
    return tuple(said)


def untold(found: Fitting, end: End, native: float) -> tuple[str, ...]:
    """Return what nothing that was read tells of a mount: its end or its size, and what would tell it."""
    said = []
    if found.across is not None and found.across.untold:
        code = "fits.end_untold" if found.across.named is None else "fits.end_between"
        said.append(tell(code, end=named(end)))
    if found.alike:
        others = ", ".join(f"{size:g}" for size in found.alike)
        said.append(tell("fits.size_untold", native=native, others=others))
    return tuple(said)


def recall_note(found: Fitting) -> str:
    """Return what is told of recalled numbers that a mount fits as well as today's, or an empty string."""
    if found.recall is None or found.surely:
        return ""
    return tell("fits.recalled_too", fits=found.recall.fits)


def stamps(form: Interface) -> tuple[Finding, ...]:
    """Return what a job's own row is warned of in large letters: another size, or numbers that were wrong."""
    if not form.own:
        return ()
    found = fitting(
        form.family, form.end, form.native, Place(form.h, form.x_near, form.x_far, dict(form.bands))
    )
    said = []
    other, name = found.other, found.named
    if other is not None:
        values: dict[str, Value] = {"native": form.native, "off": other.off, "row": called(other, form.end)}
        what = say("fits.in_doubt", **values)
        if name is not None:
            values |= {"named_off": name.off, "named": called(name, form.end)}
            what = say("fits.in_doubt_named", **values)
        said.append(Finding("native-in-doubt", "warn", what, "interface", large=True))
    if found.recall is not None and found.surely:
        what = say("fits.wrong_numbers", wrong=found.recall.sentence)
        said.append(Finding("recalled", "warn", what, "interface", large=True))
    return tuple(said)
