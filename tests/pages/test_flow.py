"""Running text keeps within its column, whatever stands in it."""

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from sheets.ink.drawing import Drawing
from sheets.ink.records import Text
from sheets.job.read import load, place_job, tubes_of
from sheets.pages.flow import SMALL, Flow
from sheets.pages.running.numbers import detail_pages
from sheets.setup.setup import set_up

ROOT = Path(__file__).parents[2]
WORDS = st.text("abcdefghijkWM0123456789", min_size=1, max_size=90)


@given(
    parts=st.lists(
        st.tuples(st.lists(WORDS, min_size=1, max_size=4).map(" ".join), st.booleans()), min_size=1
    )
)
def test_a_word_wider_than_its_column_is_broken(parts: list[tuple[str, bool]]) -> None:
    drawing = Drawing()
    flow = Flow(drawing, 10.0, 90.0, 2000.0, 0.0, None, lambda: (drawing, 2000.0), 1.24)
    flow.run_in(parts, SMALL)
    texts = [each for each in drawing.records() if isinstance(each, Text)]
    assert all(each.at[0] + each.width <= 90.0 + 1e-6 for each in texts)
    # Nothing is lost by it.
    assert "".join("".join(each.text.split()) for each in texts) == "".join(
        "".join(text.split()) for text, _ in parts
    )


def test_a_drawings_digest_does_not_keep_a_job_from_being_drawn() -> None:
    """It has 64 characters and no place to break."""
    source = load(ROOT / "samples" / "dropouts" / "stint.toml")
    placement = place_job(source.job)
    pages = detail_pages(source.job, placement, set_up(source.job, placement, tubes_of(source.job)))
    said = "".join(text.text for page in pages for text in page.texts)
    assert source.job.outline is not None and source.job.outline.sha256 in said
