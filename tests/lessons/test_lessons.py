"""Every lesson: complete, in one skeleton, not stale, small, and with numbers that still hold."""

from concurrent.futures import ThreadPoolExecutor

import nbformat
import pytest
import quotes
import refresh
import skeleton
from stale import differences

import signalshed as shed

LARGEST_BYTES = 1_000_000
NOTEBOOKS = {str(p.relative_to(refresh.NOTEBOOKS).with_suffix("")): p for p in refresh.found()}
LESSONS = [name for name in NOTEBOOKS if name in skeleton.CORE_MIN]
QUOTING = [*LESSONS, "recipes", "teaching/room_feed"]
EXEMPT = quotes.rows("exemptions.csv")


def quoted(name):
    return [row for row in quotes.rows("quoted.csv") if row["lesson"] == name]


@pytest.fixture(scope="session")
def runs(request):
    """Each notebook that a selected test asks for, executed once, two at a time."""
    asked = [getattr(item, "callspec", None) for item in request.session.items]
    names = {spec.params["executed"] for spec in asked if spec and "executed" in spec.params}
    with ThreadPoolExecutor(2) as pool:
        expressions = {n: [row["expression"] for row in quoted(n)] for n in names}
        yield {n: pool.submit(refresh.run, NOTEBOOKS[n], expressions[n]) for n in sorted(names)}


def read(name):
    return nbformat.read(NOTEBOOKS[name], as_version=4)


def test_all_lessons_are_there_and_listed():
    assert list(skeleton.CORE_MIN) == LESSONS
    readme = (refresh.NOTEBOOKS.parent / "README.md").read_text(encoding="utf-8")
    assert [name for name in LESSONS if f"| `{name}` |" not in readme] == []
    told = [f"lesson {number}" for number in range(1, len(LESSONS))]
    assert [lesson for lesson in told if lesson not in shed.__doc__] == []


@pytest.mark.parametrize("name", LESSONS)
def test_a_lesson_keeps_the_skeleton_and_its_time(name):
    assert skeleton.faults(read(name), name) == []


@pytest.mark.parametrize("executed", NOTEBOOKS)
def test_a_notebook_runs_without_a_warning_and_is_not_stale(executed, runs):
    fresh, _ = runs[executed].result()
    told = differences(read(executed), fresh)
    assert not told, f"run tests/lessons/refresh.py: {told}"


@pytest.mark.parametrize("executed", QUOTING)
def test_every_quoted_number_still_holds(executed, runs):
    _, values = runs[executed].result()
    text = quotes.prose(read(executed))
    told = [quotes.fault_of_row(r, text, v) for r, v in zip(quoted(executed), values, strict=True)]
    assert not list(filter(None, told))


@pytest.mark.parametrize("name", QUOTING)
def test_every_number_with_a_unit_is_quoted_or_exempt_with_a_reason(name):
    exempt = [row for row in EXEMPT if row["lesson"] == name]
    phrases = [row["phrase"] for row in quoted(name) + exempt]
    text = quotes.prose(read(name))
    told = quotes.uncovered(text, phrases)
    assert not told, "\n".join(["quote in quoted.csv; if given, exemptions.csv says why:", *told])
    gone = [row["phrase"] for row in exempt if not quotes.spans_of(row["phrase"], text)]
    assert not gone, "exempt, but not in the lesson"
    assert all(len(row["reason"]) > 10 for row in exempt)


def test_quoted_numbers_belong_to_pages_that_exist():
    listed = {row["lesson"] for row in quotes.rows("quoted.csv") + EXEMPT}
    pages = {f"teaching/{p.stem}" for p in (refresh.NOTEBOOKS / "teaching").glob("*.md")}
    assert listed <= {*QUOTING, *pages}


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_a_notebook_stays_small_and_committed_in_one_form(name):
    text = NOTEBOOKS[name].read_text(encoding="utf-8")
    assert len(text.encode()) < LARGEST_BYTES
    assert text == refresh.as_text(read(name)), "run tests/lessons/refresh.py"
