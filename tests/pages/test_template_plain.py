"""What a newcomer reads on a template: words that say what they mean, and names that keep their distance."""

import re

import numpy as np
import pytest

from tests.pages.jobs import Caught, sample, sample_sheets


def _template(name: str) -> Caught:
    return sample_sheets(name, sample(name).paper.view, "A4")[0]


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


@pytest.mark.parametrize("name", ["dunlin", "avocet", "whimbrel"])
def test_what_may_be_cut_away_is_the_sheet(name: str) -> None:
    title = _template(name).title
    assert "or cut the sheet there" in title
    assert "it away" not in title


@pytest.mark.parametrize("name", ["whimbrel", "avocet"])
def test_the_foot_is_explained_once(name: str) -> None:
    # The point of a line that is nearest to another point is where the square from there meets it (Euclid).
    caught = _template(name)
    text = squeezed(" ".join(each.text for each in caught.lettered))
    assert text.count(squeezed("foot: nearest to the axle")) == 1


def test_the_scale_of_force_is_lettered_at_the_force_alone() -> None:
    rows = [each.text for each in _template("dunlin").lettered if each.layer == "lettering"]
    (scale,) = (number for number, text in enumerate(rows) if "1 mm = 100 N" in text)
    label = " ".join(rows[max(0, scale - 1) : scale + 1])
    assert "axle pushes 1887 N; 1 mm = 100 N" in label
    assert "slot opens" not in label


def test_directions_keep_off_the_table_and_the_views_name_off_what_is_there() -> None:
    caught = _template("avocet")
    table = max(each.box[2] for each in caught.lettered if each.layer == "numbers")
    forward = next(each.box for each in caught.lettered if each.text == "forward")
    # Wider than the white that parts two words.
    assert forward[0] - table > 5.0
    ink = {
        layer: np.array(
            [
                command[-2:]
                for path in caught.sheet.paths
                if path.layer == layer and not path.labels
                for command in path.commands
                if len(command) > 1
            ]
        )
        for layer in ("view", "context")
    }
    low, high = ink["view"].min(axis=0) - 1.5, ink["view"].max(axis=0) + 1.5
    assert not np.all((ink["context"] > low) & (ink["context"] < high), axis=1).any()
