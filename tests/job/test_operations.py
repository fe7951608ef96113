"""The order of work: what ships, what a job and the builder's own file may change, and what is refused.

The orders are common practice, no source; so are the card's lines.
"""

import copy
import os
import pickle
import re
from collections.abc import Callable, Iterator
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest

from geometry.core.errors import InputError
from sheets.actions.manifest import job_json, setup_json, text
from sheets.home.own_operations import FILE
from sheets.job.operations import CHECK_POINTS, SHIPPED, Operation, dangers, hold_points
from sheets.job.read import Job, parse, place_job, read, tubes_of
from sheets.setup.screws import bench_words
from sheets.setup.setup import SetUp, set_up
from sheets.words.tell import lines, told
from tests.pages.jobs import SAMPLES

NO_HEAT, NO_RIDE = hold_points()
OWN = {"key": "pickle", "text": "Pickle the joint in citric acid."}


def set_up_of(job: Job) -> SetUp:
    """Return a job's set-up."""
    return set_up(job, place_job(job), tubes_of(job))


@pytest.fixture
def work(rear: dict[str, Any]) -> Callable[..., tuple[Operation, ...]]:
    """Return a function from the job's list to its operations, the usual ones for None."""

    def of(listed: list[Any] | None = None) -> tuple[Operation, ...]:
        table = {} if listed is None else {"traveller": {"operations": listed}}
        return set_up_of(parse(rear | table)).operations

    return of


@pytest.fixture
def own_file() -> Iterator[Path]:
    """Return where the builder's own operations lie; taken away afterwards."""
    file = Path(os.environ["DROPLEAF_HOME"]) / FILE
    file.parent.mkdir(parents=True, exist_ok=True)
    assert not file.exists()
    yield file
    file.unlink(missing_ok=True)


def refused(work: Callable[..., Any], listed: list[Any] | None = None) -> list[str]:
    """Return the problems for which a job's list is refused, each on one line."""
    with pytest.raises(InputError) as caught:
        work(listed)
    said = lines(caught.value)
    assert all("\n" not in each for each in said)
    return said


def test_the_usual_order(work: Callable[..., Any]) -> None:
    # A brace is worked in only where the frame has one.
    assert (*SHIPPED[:6], *SHIPPED[7:]) == tuple(step.key for step in work()) and SHIPPED[6] == "brace"
    assert len(SHIPPED) == 19 and len(set(SHIPPED)) == 19
    assert SHIPPED.index("prove-scale") < SHIPPED.index("tack") < SHIPPED.index("heat")
    assert [step.check for step in work() if step.check] == list(CHECK_POINTS)
    assert {step.key: step.hold for step in work() if step.hold} == {
        "prove-scale": NO_HEAT,
        "inspection": NO_RIDE,
    }
    assert dangers(work()) == ()


@pytest.mark.parametrize("method", ["tig", "fillet-braze", "silver-braze", None])
@pytest.mark.parametrize("family", ["tab", "post", "flat"])
def test_the_card_keeps_its_lines(rear: dict[str, Any], method: str | None, family: str) -> None:
    mount = {"tab": {"interface": "is-rear"}, "post": {}, "flat": {"interface": "flat-rear"}}[family]
    job = parse(
        rear
        | {"mount": rear["mount"] | mount, "process": {"method": method, "facing": 0.4} if method else {}}
    )
    lines = set_up_of(job).work
    assert len(lines) == 11
    points = [at for _, at in lines]
    assert points == [
        *((), (), (), ()),
        ("tacked",),
        (),
        *(("cold",), ("aligned",), ("faced",), ("finished",)),
        (),
    ]
    assert lines[0][0].startswith("Print at full size, measure both bars. ")
    # What the fourth line fixes has to be there by then.
    assert "Have axle and plate ready" in lines[0][0] and "plate square on the dummy axle" in lines[3][0]
    assert (lines[8][0] == "Face the mount: 0.4 mm was left for it.") == (method is not None)


@pytest.mark.parametrize(
    ("end", "interface", "cut", "mask"),
    # What a hole is: plain through a tab, threaded in posts and in front flat mounts, a slot in rear ones.
    [
        ("rear", "is-rear", "drill the tab's holes", "Deburr the holes, mask"),
        ("rear", "post", "tap M6 × 1, 6 deep or more", "Chase the threads"),
        ("rear", "flat-rear", "slots 5.5 × 8.5 right through the bosses", "Clean and deburr the slots"),
        ("front", "flat-front", "bore the bosses Ø4.2 right through and tap M5", "Chase the threads"),
    ],
)
def test_words_follow_what_is_cut_and_what_is_threaded(end: str, interface: str, cut: str, mask: str) -> None:
    front = {"axle": {"system": "100x12"}} if end == "front" else {"axle": {"system": "142x12"}}
    mount = {"end": end, "interface": interface, "rotor": 140 if interface != "is-front" else 160}
    host = {"host": "chainstay"} if end == "rear" else {}
    job = parse({"frame": {"id": "x-1"}, "mount": mount | host, **front})
    setup = set_up_of(job)
    steps = {step.key: step for step in setup.operations}
    assert cut in steps["cut"].text and mask in steps["paint-mask"].text
    threaded = interface in ("post", "flat-front")
    assert ("tap" in steps["cut"].text.split()) is threaded
    # What is made on the bench stands in the same words on card and traveller, and nothing is left to drill.
    bench = told(bench_words(job, place_job(job)))
    if interface == "is-rear":
        assert bench == ""
    else:
        assert bench in steps["cut"].text and any(bench in text for text, _ in setup.work)
        assert "drill" not in steps["paint-mask"].text.casefold()
    assert "with pins or screws in" in steps["tack"].text
    keys = [step.key for step in setup.operations]
    assert keys.index("prove-scale") < keys.index("cut") < keys.index("fit") < keys.index("tack")
    assert re.search(r"drill the tab's|Cope the posts|Saw the boss holes", setup.work[1][0])
    # Without the tube the packet has no wrap, and nothing is cut by one.
    assert not [step.key for step in setup.operations if "wrap" in f"{step.text} {step.brief}"]


def test_card_and_traveller_number_the_work_alike() -> None:
    """A brace goes in once the mount is tacked, and before the readings that show whether it pulled."""
    setup = set_up_of(read(SAMPLES["dunlin"]))
    numbers = {step.key: number for number, step in setup.numbered}
    assert list(numbers) == list(SHIPPED)
    assert [numbers[key] for key in ("prepare", "prove-scale", "cut", "fit")] == ["1a", "1b", "2", "3"]
    assert [numbers[key] for key in ("tack", "brace", "check", "heat")] == ["5", "6a", "6b", "7"]
    assert [numbers[key] for key in ("final-check", "torque", "release")] == ["12a", "12b", "12d"]
    assert len(setup.work) == 12 and setup.work[5][0].startswith("Cope the brace")
    assert "(common practice)" in setup.operations[6].text and setup.work[5][1] == ("tacked",)
    for number, step in setup.numbered:
        line, points = setup.work[int(number.rstrip("abcd")) - 1]
        assert not step.brief or step.brief == line
        assert not step.check or step.check in points
    assert "brace" not in [step.key for step in set_up_of(read(SAMPLES["avocet"])).operations]


@pytest.mark.parametrize(
    ("method", "record", "never"),
    [
        ("tig", "amps", ("tip", "braze", "flux", "fillet")),
        ("fillet-braze", "torch tip", ("amps", "weld", "purge")),
        ("silver-braze", "torch tip", ("amps", "weld", "purge", "fillet")),
        (None, "amps, or torch tip", ("fillet", "purge", "flux the")),
    ],
)
def test_words_follow_the_process(
    rear: dict[str, Any], method: str | None, record: str, never: tuple
) -> None:
    process = {} if method is None else {"process": {"method": method}}
    steps = set_up_of(parse(rear | process)).operations
    said = " ".join(f"{step.text} {step.record} {step.brief}" for step in steps).casefold()
    assert next(step.record for step in steps if step.key == "heat") == record
    assert not [word for word in never if word in said]


def test_a_jobs_own_order_and_operations(work: Callable[..., Any], rear: dict[str, Any]) -> None:
    mine = [each for each in SHIPPED if each != "check"]
    at = mine.index("tack") + 1
    jig = {"key": "jig-check", "text": "Measure in the jig.", "hold": True, "check": "tacked"}
    steps = work([*mine[:at], jig, *mine[at:], OWN])
    assert [step.key for step in steps] == [*mine[:at], "jig-check", *mine[at:], "pickle"]
    assert (steps[at].check, steps[at].title) == ("tacked", "Jig check")
    assert steps[at].hold.startswith("Nobody goes on")
    assert (steps[-1].text, steps[-1].hold, steps[-1].check) == (OWN["text"], "", "")
    # The card tells of the builder's own operations too.
    held = OWN | {"key": "etch", "hold": True}
    job = parse(rear | {"traveller": {"operations": [*SHIPPED, held, OWN]}})
    assert set_up_of(job).work[-1] == (OWN["text"], ())
    # As given, and fit for JSON.
    assert job_json(job)["traveller"]["operations"] == [*SHIPPED, held, OWN]
    assert '"pickle"' in text(setup_json(set_up_of(job)))


@pytest.mark.parametrize(
    ("listed", "said"),
    [
        (["preparre"], "traveller.operations[0]: 'preparre' is no known operation, did you mean prepare?"),
        ([*SHIPPED, {"key": "pickle"}], "traveller.operations[19]: 'pickle' has no text"),
        ([*SHIPPED[1:], {"key": "prepare", "text": "x"}], "operations[18]: 'prepare' is known already"),
        ([*SHIPPED, "heat"], "traveller.operations[19]: 'heat' is there already, as traveller.operations[8]"),
        ([*SHIPPED, OWN | {"check": "wrm"}], "[19].check: 'wrm' given; allowed: tacked, cold, aligned"),
        ([*SHIPPED, OWN | {"chek": "cold"}], "[19].chek: there is no such key, did you mean check?"),
        ([*SHIPPED, OWN | {"replaces": True}], "[19].replaces: there is no such key; allowed: key, text, h"),
        ([*SHIPPED, {"text": "x"}], "traveller.operations[19].key: missing; a short name such as pickle"),
        ([*SHIPPED, {"key": "Paint Job", "text": "x"}], "[19].key: 'Paint Job' given; allowed are up to 20"),
        (["Paint Job"], "traveller.operations[0]: 'Paint Job' given; allowed are up to 20 small letters"),
        ([*SHIPPED, OWN | {"text": "two\nlines"}], "[19].text: 'two\\nlines' has the unprintable character"),
        ([*SHIPPED, OWN | {"text": "x" * 121}], "[19].text: 121 characters given; at most 120 are allowed"),
        ([*SHIPPED, OWN | {"hold": 3}], "[19].hold: 3 given; allowed: true, false, or a text in quotes"),
        ([*SHIPPED, OWN | {"hold": " "}], "traveller.operations[19].hold: empty"),
        ([*SHIPPED, 7], "traveller.operations[19]: 7 given; an operation is a table"),
        ([], "traveller.operations: an empty list given; leave the key out"),
        ([*SHIPPED, OWN | {"check": "cold"}], "clean and pickle both have that check point"),
        (
            [each for each in SHIPPED if each != "survey"],
            "traveller.operations: readings are asked for when aligned, but no operation has that check "
            'point; add "survey"',
        ),
    ],
)
def test_bad_lists_are_refused_in_words(work: Callable[..., Any], listed: list[Any], said: str) -> None:
    [line] = refused(work, listed)
    assert said in line


def _moved(key: str, before: str) -> list[str]:
    order = [each for each in SHIPPED if each != key]
    order.insert(order.index(before), key)
    return order


@pytest.mark.parametrize(
    ("order", "said"),
    [
        (_moved("paint-mask", "heat"), "paint-mask comes before heat; paint burns"),
        (_moved("torque", "final-check"), "torque comes before final-check"),
        (_moved("heat", "prove-scale"), "heat comes before prove-scale"),
        (_moved("release", "inspection"), "release comes before inspection"),
        ([each for each in SHIPPED if each != "prove-scale"], "it has no operation prove-scale"),
    ],
)
def test_dangerous_orders_are_warned_of(rear: dict[str, Any], order: list[str], said: str) -> None:
    found = set_up_of(parse(rear | {"traveller": {"operations": order}})).findings
    assert any(said in told(each.text) for each in found if each.code == "order-of-work"), found
    assert not [each for each in set_up_of(parse(rear)).findings if each.code == "order-of-work"]


def test_the_rest_of_the_order_is_the_builders(work: Callable[..., Any]) -> None:
    assert dangers(work(_moved("face", "tack"))) == ()


def test_own_operations_from_the_builders_folder(work: Callable[..., Any], own_file: Path) -> None:
    own_file.write_text(
        '[[operation]]\nkey = "pickle"\ntext = "Pickle."\n'
        '[[operation]]\nkey = "prove-scale"\ntext = "Lay the steel rule on both bars."\nreplaces = true\n',
        encoding="utf-8",
    )
    usual = {step.key: step for step in work()}
    assert "pickle" not in usual
    # It keeps the hold point that it does not speak of.
    assert usual["prove-scale"].text == "Lay the steel rule on both bars."
    assert usual["prove-scale"].hold == NO_HEAT
    assert work([*SHIPPED, "pickle"])[-1].text == "Pickle."


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ('[[operation]]\nkey = "heat"\ntext = "x"\n', "'heat' is a shipped operation; choose another key"),
        ('[[operation]]\nkey = "het"\ntext = "x"\nreplaces = true\n', "did you mean heat?"),
        ('[[operation]]\nkey = "pickle"\n', "operation[0].text: missing; what is to be done"),
        (
            '[[operation]]\nkey = "a"\ntext = "x"\ncheck = "hot"\n',
            "check: 'hot' given; allowed: tacked, cold",
        ),
        ('[[operation]]\nkey = "a"\ntext = "x"\nreplaces = 1\n', "replaces: 1 given; allowed: true or false"),
        ('[[operation]]\nkey = "a"\ntext = "x"\n' * 2, "'a' is there already"),
        ('[operation]\nkey = "a"\n', "a table given; up to 500 tables that begin with [[operation]]"),
        ("operation = [3]\n", "operation[0]: 3 given; a table is wanted, beginning with [[operation]]"),
        ('[[step]]\nkey = "a"\n', "step: there is no such key"),
        ("key = ", "not TOML"),
        ('[[operation]]\nkey = "check"\ntext = "x"\ncheck = "cold"\nreplaces = true\n', "when tacked"),
    ],
)
def test_a_bad_file_is_refused_by_name(
    work: Callable[..., Any], own_file: Path, written: str, said: str
) -> None:
    own_file.write_text(written, encoding="utf-8")
    said_ = refused(work)
    assert all(each.startswith(str(own_file)) for each in said_)
    assert said in " ".join(said_)


def test_dates_and_heat_numbers(rear: dict[str, Any], problems: Callable[..., dict[str, str]]) -> None:
    import datetime

    good = {"started": datetime.date(2031, 4, 2), "due": "2031-05-01", "heats": {"chainstay": "C 118"}}
    job = parse(rear | {"traveller": good})
    assert job_json(job)["traveller"] == {**good, "started": "2031-04-02"}
    for table, key, said in (
        ({"due": "2031-13-01"}, "due", "there is no such day"),
        ({"started": "1 May"}, "started", "year-month-day"),
        ({"started": "2031-05-02", "due": "2031-05-01"}, "due", "before traveller.started, 2031-05-02"),
        ({"print": "yes"}, "print", "'yes' given; allowed: true or false"),
        ({"heat": {}}, "heat", "did you mean heats?"),
    ):
        found = problems(rear | {"traveller": table})
        assert [*found] == [f"traveller.{key}"] and said in found[f"traveller.{key}"]
    with pytest.raises(InputError) as caught:
        set_up_of(parse(rear | {"traveller": {"heats": {"fork-leg": "x"}}}))
    assert lines(caught.value) == [
        "traveller.heats.fork-leg: the job's end is rear; tubes there: chainstay, seatstay, brace"
    ]


def test_paper_comes_off_before_the_tack_as_the_cautions_say() -> None:
    setup = set_up_of(read(SAMPLES["dunlin"]))
    (rule,) = (each.text for each in setup.cautions if each.id == "patterns")
    (tack,) = (step for step in setup.operations if step.key == "tack")
    assert tack.text.startswith(f"{rule} Tack") and tack.brief.startswith(f"{rule} Tack")
    assert "any heat" in rule and "beyond" not in rule


def test_a_set_up_that_keeps_its_hash_is_a_value_like_any_other() -> None:
    one = set_up_of(read(SAMPLES["dunlin"]))
    before = hash(one)
    other = replace(one, beyond="Begins above the mount.")
    assert hash(other) != before
    assert other != one
    # What was kept is of one process, whose strings hash in their own way.
    assert vars(pickle.loads(pickle.dumps(one))).keys() == {each.name for each in fields(one)}
    for same in (replace(other, beyond=one.beyond), copy.deepcopy(one)):
        assert same == one
        assert hash(same) == before
