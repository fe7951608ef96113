"""What a change of a job does: its verdict before and after, what is found no more or anew, what moved."""

from sheets.actions.check import Checked
from sheets.job.read import tubes_of
from sheets.setup.findings import answer_lines
from sheets.setup.ten import ten
from sheets.words.tell import tell, told

_WHOLE = 100_000
"""Characters of a line that is wrapped where it is shown."""


def changed_lines(before: Checked, after: Checked) -> list[str]:
    """Return what a change does to a job's answer, a line each: verdicts, findings, and bench numbers."""
    lines = [
        tell("changed.before", verdict=_verdict(before)),
        tell("changed.after", verdict=_verdict(after)),
    ]
    was, now = _found(before), _found(after)
    lines += [tell("changed.gone", finding=each) for each in was if each not in now]
    lines += [tell("changed.new", finding=each) for each in now if each not in was]
    old = _bench(before)
    moved = [
        (name, old.get(name, ""), value) for name, value in _bench(after).items() if old.get(name) != value
    ]
    lines += [
        tell("changed.moved", name=name, was=value_before, now=value)
        if value_before
        else tell("changed.appeared", name=name, now=value)
        for name, value_before, value in moved
    ]
    if len(lines) == 2:
        lines.append(tell("changed.nothing"))
    return lines


def _verdict(each: Checked) -> str:
    return answer_lines(each.source.job, each.findings, _WHOLE)[0]


def _found(each: Checked) -> list[str]:
    return [
        tell("changed.finding", level=tell(f"finding.level.{one.level}"), what=told(one.brief or one.text))
        for one in each.findings
    ]


def _bench(each: Checked) -> dict[str, str]:
    rows = ten(each.source.job, each.placement, each.setup, tubes_of(each.source.job))
    return {told(name): told(what) for name, what in rows}
