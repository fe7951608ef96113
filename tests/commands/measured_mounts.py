"""Readings of measured mounts as files: the sample's moved a little, and post mounts that a row gives."""

from pathlib import Path

from geometry.survey.learn import expected
from geometry.survey.learn_readings import Kind, kinds, model
from geometry.tables.interfaces import resolve

SAMPLE = Path(__file__).parents[2] / "samples" / "readings" / "flat-rear.toml"
TEXT = SAMPLE.read_text(encoding="utf-8")


def mount(file: Path, on: str, up: float = 0.0, *changes: tuple[str, str]) -> Path:
    """Write the sample's readings as those of another mount, its face `up` mm higher; return the file."""
    text = TEXT.replace("a works frame with its caliper fitted", on)
    shifted = ", ".join(f"{each + up:.2f}" for each in (36.9, 36.95, 36.9))
    text = text.replace("36.9, 36.95, 36.9", shifted)
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    return file


def by(maker: str) -> tuple[str, str]:
    """Return the change to the sample's readings that says who made the part."""
    return "resolution", f'maker = "{maker}"\nresolution'


def post(file: Path, native: float, says: float, on: str, more: str = "", up: float = 0.0) -> Path:
    """Write readings on a post mount of one size, `up` mm too high, that says that it is of another."""
    row = resolve("post", "rear", native, native)
    known = {each.key: each for each in kinds("post", "rear")}
    keys = ("axle", "pin", "face-over", "along-far-over", "spacing-over", "side")
    taken: list[Kind] = [known[key] for key in keys]
    at = expected(row, [(known["axle"], 12.0), (known["pin"], 6.0)])
    read, _ = model(taken)(at)
    read[keys.index("face-over")] += up
    head = f'family = "post"\nend = "rear"\nnative = {says}\non = "{on}"'
    lines = [f'{head}\ndate = 2026-02-01\nby = "us"', more]
    lines += ["[readings]", *(f"{key} = [{value:.2f}]" for key, value in zip(keys, read, strict=True))]
    file.write_text("\n".join(lines), encoding="utf-8")
    return file
