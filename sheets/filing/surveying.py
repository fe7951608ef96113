"""A survey from beginning to end: judged beside the pull history, filed in a packet, and recorded."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError
from geometry.core.frozen import dataclass
from geometry.survey.pull import replaced
from sheets.actions import survey, survey_report
from sheets.actions.readings_file import Read
from sheets.actions.survey import Bench, Surveyed
from sheets.home import pull_history
from sheets.pages.running.survey_page import Section


@dataclass(frozen=True, slots=True)
class Done:
    """A survey, the revision that it was filed in, and why it was not filed or recorded, if it was not."""

    result: Surveyed
    filed: Path | None = None
    failed: DropleafError | None = None


def run(
    bench: Bench,
    found: Read,
    point: str | None = None,
    step: float | None = None,
    *,
    record: bool = True,
    packet: Path | None = None,
    more: Mapping[str, Any] | None = None,
    sections: Sequence[Section] = (),
) -> Done:
    """Survey a mount; file that in the next revision of a `packet`, and add it to the pull history.

    `more` is put into the document that is filed, `sections` on its page. To be called within the job's
    units. Raise DropleafError where nothing can be judged; what fails after that is told beside the verdict.
    """
    # The record is read first: one that is damaged must be told before anything is judged by it.
    history = pull_history.known() if record else ()
    result = survey.surveyed(bench, found, point, step, history)
    kept = survey.records(bench, found, step) if record else ()
    if kept:
        after = replaced(history, kept)
        result = replace(survey.surveyed(bench, found, point, step, after), recorded=True)
    filed = None
    try:
        if packet is not None:
            # Most surveys at a terminal are told and not filed, and loading this takes longer than judging.
            from sheets.filing.revise import file_survey

            document = {**survey_report.survey_document(result), **(more or {})}
            filed = file_survey(packet, document, (*survey_report.sections(result), *sections))
        # Last, so that nothing is recorded of a survey that was to be filed and was not.
        if kept:
            pull_history.keep(kept)
    except DropleafError as error:
        # Whoever stands at the bench is told the verdict whatever becomes of the papers.
        return Done(replace(result, recorded=False), filed, error)
    return Done(result, filed)
