"""What every sheet says: the steps, the view, the ways, how to print, the frame, the mount and its grade."""

import re

import pytest

from geometry.tables.interfaces import rows
from sheets.job.read import Job, place_job
from sheets.words.tell import told
from tests.geometry.test_interfaces import SHIPPED
from tests.pages.arithmetic import Skin, direction
from tests.pages.jobs import SAMPLES, VIEWS, Caught, catch, on_paper, sample, sample_sheets

CONFIRM = "confirm against your caliper maker's frame drawing before cutting"
# The weakest grade of each row, "D" before "C", as tests/geometry/test_interfaces.py has it.
GRADES = {name: max(each[-1] for each in SHIPPED if each[0] == name) for name, *_ in SHIPPED}
PROVISIONAL = (
    "PROVISIONAL: derived numbers. Measure a mount that works, or use your caliper maker's frame drawing, "
    "before cutting."
)
every_view = pytest.mark.parametrize("view", VIEWS)
every_sample = pytest.mark.parametrize("name", SAMPLES)


def said(caught: Caught) -> str:
    """Return steps and title block without spaces, since a break in a line swallows one."""
    return squeezed(caught.title)


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


@every_view
@every_sample
def test_every_sheet_says_what_it_must(name: str, view: str) -> None:
    for caught in sample_sheets(name, view, "A4"):
        job, row = caught.job, caught.job.mount.interface
        for words in (
            job.frame.id,
            job.frame.name,
            job.frame.maker,
            f"({row})",
            f"disc {job.mount.rotor:g}",
            place_job(job).axle.title,
            "A4, sheet",
            "Print at 100 %, actual size",
            f"Grade {GRADES[row]}: {CONFIRM}",
            "safety-critical",
        ):
            assert words is not None
            assert squeezed(words) in said(caught), words
        # What has to be known before it is cut stands there too.
        for text in (*place_job(job).confirm, *place_job(job).stamps):
            assert squeezed(told(text)) in said(caught)


@every_view
@every_sample
def test_every_sheet_begins_with_what_to_do(name: str, view: str) -> None:
    for caught in sample_sheets(name, view, "A4"):
        steps = [line for line in caught.lettered if line.layer == "steps"]
        numbers = [line.text for line in steps if re.fullmatch(r"\d", line.text)]
        assert numbers == [f"{number}" for number in range(1, len(numbers) + 1)]
        assert 3 <= len(numbers) <= 6
        assert all(line.height == 3.5 for line in steps)
        # Both bars come first, with what the builder may read at most (0.25 mm in 150, the book's own).
        assert squeezed("Both bars must read 150 mm, within 0.25.") in squeezed(steps[1].text)
        # They are the first thing on the page: nothing is lettered above them.
        assert max(line.box[3] for line in caught.lettered) <= max(line.box[3] for line in steps) + 1e-9


@every_view
@every_sample
def test_every_sheet_shows_the_ways(name: str, view: str) -> None:
    template, *faces = sample_sheets(name, view, "A4")
    assert {"forward", "up", "wheel turns"} <= template.labels
    # Which way a tube runs: chainstay forward, leg up, seatstay up more than forward (own arithmetic).
    up_tube = {
        "chainstay": "up the chainstay, forward",
        "seatstay": "up the seatstay",
        "fork-leg": "up the fork leg",
    }[sample(name).mount.host]
    for face in faces:
        assert {"outboard", up_tube} <= face.labels


@every_sample
def test_provisional_numbers_are_called_so_in_large_letters(name: str) -> None:
    for caught in sample_sheets(name, "outboard", "A4"):
        large = [
            line
            for line in caught.lettered
            if line.height == 5.0 and line.layer != "view" and not line.text.startswith(("Te", "Fa"))
        ]
        wanted = PROVISIONAL if rows()[sample(name).mount.interface].provisional else ""
        assert squeezed(
            "".join(line.text for line in sorted(large, key=lambda line: -line.box[1]))
        ) == squeezed(wanted)


def test_an_own_row_is_named_and_has_no_grade() -> None:
    job = sample("redshank")
    own = {"near": 39.7, "far": 66.8, "spacing": 34, "source": "measured on the workshop's own frame"}
    document = job.model_dump(by_alias=True, exclude_unset=True) | {"interface": own | {"lateral": -3}}
    for caught in catch(Job.model_validate(document, context={"own row": True})):
        assert squeezed("the job's own row") in said(caught)
        assert "PROVISIONAL" not in said(caught)
        assert squeezed(CONFIRM) not in said(caught)


def test_a_row_measured_on_one_mount_is_called_so_in_large_letters() -> None:
    job = sample("redshank")
    row = {
        "near": 39.71, "far": 66.8, "spacing": 34, "lateral": -3, "source": "measured on a frame",
        "grade": "measured", "mounts": 1, "uncertainty": {"near": 0.08, "far": 0.1, "lateral": 0.12},
    }  # fmt: skip
    banner = (
        "MEASURED ON ONE MOUNT: near 39.71 ±0.08, far 66.80 ±0.10, sideways -3.00 ±0.12; measure a second "
        "mount before you trust it."
    )
    for mounts, wanted in ((1, banner), (2, "")):
        own = {"interface": row | {"mounts": mounts}}
        document = job.model_dump(by_alias=True, exclude_unset=True) | own
        for caught in catch(Job.model_validate(document, context={"own row": True})):
            large = [
                line
                for line in caught.lettered
                if line.height == 5.0 and line.layer != "view" and not line.text.startswith(("Te", "Fa"))
            ]
            assert squeezed(
                "".join(line.text for line in sorted(large, key=lambda line: -line.box[1]))
            ) == squeezed(wanted)


@every_view
@every_sample
def test_the_sheet_says_how_far_a_tube_holds_it_off(name: str, view: str) -> None:
    job = on_paper(sample(name), view=view)
    document = job.model_dump(by_alias=True, exclude_none=True)
    reach = place_job(job).interface.x_far + 30.0
    proud = {}
    for tube, table in document["tubes"].items():
        if tube == "brace":
            # It lies between the stays, further up than the sheet.
            continue
        skin = Skin(tube, table, direction(tube, document))
        # The crest at the tube's steps and ends, as far as the sheet lies over it.
        places = [
            s for s in (*skin.stations[:, 0], skin.last, reach) if skin.first <= s <= min(skin.last, reach)
        ]
        crest = skin.crest(places)
        assert job.dropout.thickness is not None
        proud[tube] = max(crest[1]) - job.dropout.thickness if view == "outboard" else -min(crest[0])
    tube, most = max(proud.items(), key=lambda item: item[1])
    (sentence,) = re.findall(
        r"The ([a-z ]+) is ([\d.]+) proud of the dropout's (outer|inner) face: slip a ring ([\d.]+) long",
        sample_sheets(name, view, "A4")[0].title,
    ) or [None]
    if most <= 0.05:
        assert sentence is None
        return
    assert sentence is not None
    assert sentence[0] == tube.replace("-", " ")
    assert sentence[2] == ("outer" if view == "outboard" else "inner")
    assert float(sentence[1]) == float(sentence[3]) == pytest.approx(most, abs=0.05 + 0.02)


@pytest.mark.parametrize(("thickness", "flat"), [(2.0, False), (40.0, True)])
def test_it_lies_flat_on_a_thick_dropout(thickness: float, flat: bool) -> None:
    # No tube of the sample stands 40 outboard of the inner face, and all stand more than 2.
    job = sample("turnstone")
    dropout = job.dropout.model_copy(update={"thickness": thickness})
    text = said(catch(job.model_copy(update={"dropout": dropout}))[0])
    # Its seatstay is not given: nobody knows that it does not hold the sheet off.
    words = squeezed("No tube given is proud of the dropout's outer face: the sheet lies flat on it.")
    assert (words in text) is flat
    unknown = "What comes near the seatstay is not known, nor whether it holds the sheet off: see the card."
    assert squeezed(unknown) in text


def test_what_it_cannot_know_it_says() -> None:
    job = sample("turnstone")
    unknown = job.model_copy(update={"dropout": job.dropout.model_copy(update={"thickness": None})})
    assert squeezed("Dropout thickness not given") in said(catch(unknown)[0])
    bare = job.model_copy(update={"tubes": type(job.tubes)()})
    template = catch(bare)[0]
    assert squeezed("No tube given") in said(template)
    # Without a tube its direction alone is drawn, from the axle along the chainstay.
    (line,) = [feature for feature in template.sheet.features if feature.name == "chainstay direction"]
    assert line.start[1] == line.end[1] == template.sheet.axle[1]
    assert line.end[0] < line.start[0] < template.sheet.axle[0]
