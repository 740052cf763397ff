"""The one skeleton that all lessons share, as a list of faults: what a script can see of it.

    python tests/lessons/skeleton.py        prints faults and the estimated reading time of each lesson

A lesson is, in this order: a markdown cell with the question (H1), "You will be able to" (3 to 5),
Time, You need, Before this, Contents; the setup cell; sections (H2), each with a worked example before
its panel; ## Try it; ## Check yourself; ## With your own data; sections called "## Further: ...", if
any; ## Take-away; ## Sources; a last line with links to the previous and next lesson.
"""

import re
from pathlib import Path

import nbformat

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"

CORE_MIN = {
    "00_start_here": 15,
    "01_channel_plans": 20,
    "02_link_budgets": 30,
    "03_signal_meters": 30,
    "04_reflectors": 30,
    "05_site_survey": 30,
    "06_fair_trials": 30,
    "07_which_antenna": 30,
}
"""Minutes of each lesson's core."""

LAST_SECTIONS = ("Try it", "Check yourself", "With your own data", "Take-away", "Sources")
TRIES = ("One slider", "One number", "One of your own")
WORDS_BETWEEN, TERMS_BETWEEN, TERMS_BEFORE_A_PICTURE = 120, 3, 2
WORKED_LINES, PANEL_LINES, SETUP_LINES = 12, 3, 8
WORDS_A_MIN, TRY_MIN, QUESTION_MIN, CODE_MIN = 150, 2, 3, 1

_QUESTION = re.compile(r"\bquiz\.(ask|number|choice)\(")
_ASKED = re.compile(r"quiz\.ask\(\d, \d+\)")
_BOLD = re.compile(r"\*\*([^*\n]+?)\*\*")
_FOLDED = re.compile(r"<details>.*?</details>", re.DOTALL)
_LOOK = re.compile(r"!\[|<img|^\|.*\|\s*$|\$\$|<details", re.MULTILINE)


class Lesson:
    """A lesson's notebook cut into its opening, its sections and their cells."""

    def __init__(self, notebook, name):
        self.name, self.cells = name, notebook.cells
        self.opening, self.sections = [], []
        for cell in notebook.cells:
            heading = heading_of(cell)
            if heading:
                self.sections.append((heading, []))
            (self.sections[-1][1] if self.sections else self.opening).append(cell)

    def section(self, title):
        """The cells of the section called ``title``."""
        return next((cells for heading, cells in self.sections if heading == title), [])

    def core(self):
        """All cells but those of the sections called "Further: ..."."""
        further = [c for h, cells in self.sections if h.startswith("Further") for c in cells]
        return [cell for cell in self.cells if not any(cell is f for f in further)]


def heading_of(cell):
    """The H2 that a markdown cell begins with, or an empty text."""
    found = re.match(r"## +(.+)", cell.source) if cell.cell_type == "markdown" else None
    return found.group(1).strip() if found else ""


def is_panel(cell):
    """Whether a cell shows a panel of a lesson."""
    return cell.cell_type == "code" and bool(re.search(r"\blesson_\d\d\.\w+_panel\(", cell.source))


def is_question(cell):
    """Whether a cell asks a question that it checks."""
    return cell.cell_type == "code" and bool(_QUESTION.search(cell.source))


def code_lines(cell):
    """Lines of a code cell that are neither empty nor comments."""
    lines = (line.strip() for line in cell.source.splitlines())
    return sum(bool(line) and not line.startswith("#") for line in lines)


def read_words(text):
    """Words to read in markdown, without addresses, tags, code fences and table rules."""
    text = re.sub(r"```.*?```|<[^>]+>|\]\([^)]*\)|^[|:\- ]+$", " ", text, flags=re.S | re.M)
    return len(re.findall(r"\w[\w'’.,/°%-]*", text))


# ---- faults -------------------------------------------------------------------------------------


def faults(notebook, name):
    """Everything in which a notebook called ``name`` departs from the skeleton, in words."""
    lesson = Lesson(notebook, name)
    parts = (_opening, _order, _worked_first, _try_it, _check_yourself, _asked_by_number, _own_data)
    parts += (_ending, _length, _too_long_without_a_look, _too_many_terms, _picture_before_terms)
    return [fault for part in parts for fault in part(lesson)]


def _opening(lesson):
    first = lesson.cells[0].source
    if not re.match(r"# .+\?\s*(\n|$)", first):
        yield "the first line is not a question as H1"
    for line in ("Time", "You need", "Before this", "Contents"):
        if not re.search(rf"^\**{line}\b", first, re.MULTILINE):
            yield f"the opening has no line that starts with {line!r}"
    goals = re.search(r"You will be able to.*?\n((?:\s*\n)?(?:[-*] .+(?:\n  .*)*\n?)+)", first)
    number = len(re.findall(r"^[-*] ", goals.group(1), re.MULTILINE)) if goals else 0
    if not 3 <= number <= 5:
        yield f"'You will be able to' lists {number} things, not 3 to 5"
    yield from _setup(lesson)


def _setup(lesson):
    code = [cell for cell in lesson.cells if cell.cell_type == "code"]
    if not code or "import signalshed as shed" not in code[0].source:
        yield "the first code cell does not import signalshed as shed"
        return
    if "shed.__version__" not in code[0].source or code_lines(code[0]) > SETUP_LINES:
        yield f"the setup cell prints no version, or is longer than {SETUP_LINES} lines"
    if not any(cell is code[0] for cell in lesson.opening):
        yield "the setup cell comes after the first section"
    tricks = re.compile(r"^\s*[!%]|sys\.path|os\.chdir|urlopen|requests\.|pip install", re.M)
    for cell in code:
        if tricks.search(cell.source):
            yield f"no path tricks, no shell, no downloads: {cell.source.splitlines()[0]}"


def _order(lesson):
    headings = [heading for heading, _ in lesson.sections]
    last = [h for h in headings if h in LAST_SECTIONS]
    if last != list(LAST_SECTIONS):
        yield f"the last sections are {', '.join(last)}; wanted: {', '.join(LAST_SECTIONS)}"
        return
    start = headings.index("Try it")
    if start < 1:
        yield "there is no section before 'Try it'"
    for heading in headings[start:]:
        if heading not in LAST_SECTIONS and not heading.startswith("Further: "):
            yield f"'{heading}' stands after 'Try it' and is not called 'Further: ...'"


def _worked_first(lesson):
    for heading, cells in lesson.sections:
        worked = False
        for cell in cells:
            if is_panel(cell):
                if not worked and heading not in LAST_SECTIONS:
                    yield f"'{heading}' shows a panel before a worked example"
                if code_lines(cell) > PANEL_LINES:
                    yield f"a panel cell of '{heading}' has more than {PANEL_LINES} lines"
            elif cell.cell_type == "code" and not is_question(cell):
                worked = True
                if code_lines(cell) > WORKED_LINES:
                    yield f"a code cell of '{heading}' has more than {WORKED_LINES} lines"


def _text(cells):
    return "\n\n".join(cell.source for cell in cells if cell.cell_type == "markdown")


def _try_it(lesson):
    text = _text(lesson.section("Try it"))
    for size in TRIES:
        if not re.search(rf"^(### |\**){size}", text, re.MULTILINE):
            yield f"'Try it' has no '{size}'"
    if not re.search(r"\bpredict|\bguess|before you (move|run|change)", text, re.IGNORECASE):
        yield "'Try it' asks for no prediction"
    if not any(c.cell_type == "code" for c in lesson.section("Try it")):
        yield "'Try it' has no cell whose number is changed"


def _check_yourself(lesson):
    cells = lesson.section("Check yourself")
    questions = sum(map(is_question, cells))
    folded = len(re.findall(r"<details>", _text(cells)))
    if questions < 1 or folded != questions:
        yield f"'Check yourself' has {questions} questions and {folded} folded solutions"


def _asked_by_number(lesson):
    """No answer stands in a question's source."""
    for cell in filter(is_question, lesson.cells):
        if not _ASKED.fullmatch(cell.source):
            yield f"a question is not asked by number alone: {cell.source.splitlines()[0]}"


def _own_data(lesson):
    cells = lesson.section("With your own data")
    if not any(cell.cell_type == "code" for cell in cells):
        yield "'With your own data' has no code cell"


def _ending(lesson):
    names = list(CORE_MIN)
    last = lesson.cells[-1].source
    at = names.index(lesson.name)
    for near in (at - 1, at + 1):
        if 0 <= near < len(names) and f"({names[near]}.ipynb)" not in last:
            yield f"the last cell has no link to {names[near]}.ipynb"
    for target in re.findall(r"\]\(([^)#:]+?)(?:#[^)]*)?\)", _text(lesson.cells)):
        if not (NOTEBOOKS / target).exists() and target.removesuffix(".ipynb") not in names:
            yield f"a link leads to {target}, which is not there"


def _length(lesson):
    minutes, _ = reading_min(lesson)
    if minutes > CORE_MIN[lesson.name]:
        yield f"the core takes {minutes:.1f} minutes, not {CORE_MIN[lesson.name]}"


def _stretches(lesson):
    """(heading, prose) from one thing to look at or do to the next; opening and sources are left out."""
    at, run = "", []
    for heading, cells in lesson.sections:
        for cell in cells if heading != "Sources" else []:
            text = _FOLDED.sub("<details>", cell.source)
            pieces = ["", ""] if cell.cell_type == "code" else _LOOK.split(text)
            for place, piece in enumerate(pieces):
                if place:
                    yield at, "\n".join(run)
                    run = []
                at, run = heading, [*run, piece]
    yield at, "\n".join(run)


def _too_long_without_a_look(lesson):
    for heading, prose in _stretches(lesson):
        words = read_words(prose)
        if words > WORDS_BETWEEN:
            yield f"{words} words in '{heading}' without a thing to look at or do"


def terms_of(prose):
    """The terms that ``prose`` brings, each once: what stands in bold, but for leads as **Time:**."""
    return list(dict.fromkeys(t for t in _BOLD.findall(prose) if not t.endswith((".", ":"))))


def _known(name):
    """Terms of the lessons before the one called ``name``."""
    before = list(CORE_MIN)[: list(CORE_MIN).index(name)]
    cells = (c for n in before for c in nbformat.read(NOTEBOOKS / f"{n}.ipynb", 4).cells)
    return {term for c in cells if c.cell_type == "markdown" for term in terms_of(c.source)}


def _too_many_terms(lesson):
    known = _known(lesson.name)
    for heading, prose in _stretches(lesson):
        new = [term for term in terms_of(prose) if term not in known]
        if len(new) > TERMS_BETWEEN:
            yield f"{len(new)} new terms in '{heading}' without a thing to look at or do"
        known.update(new)


def _picture_before_terms(lesson):
    known, brought = _known(lesson.name), set()
    for _, cells in lesson.sections:
        for cell in cells:
            if shows_picture(cell):
                return
            if cell.cell_type == "markdown":
                brought |= set(terms_of(_FOLDED.sub("", cell.source))) - known
            if len(brought) > TERMS_BEFORE_A_PICTURE:
                yield f"{len(brought)} new terms before the first picture: {', '.join(brought)}"
                return


def shows_picture(cell):
    """Whether a code cell shows a panel, or has shown a picture."""
    shown = [data for out in cell.get("outputs", ()) for data in out.get("data", {}).items()]
    return is_panel(cell) or any(
        kind.startswith("image/") or (kind == "text/html" and "<img" in str(data))
        for kind, data in shown
    )


def reading_min(lesson):
    """Minutes that the core of a lesson takes by the formula, and the formula with its numbers.

    A try-it is the whole section in its three sizes, the third of which is done at home; what is folded
    below guesses, tries and questions is read in their own minutes.
    """
    core = lesson.core()
    unfolded = (_FOLDED.sub(" ", c.source) for c in core if c.cell_type == "markdown")
    words = sum(map(read_words, unfolded))
    tries = sum(heading == "Try it" for heading, _ in lesson.sections)
    questions = sum(map(is_question, core))
    code = sum(c.cell_type == "code" for c in core) - questions
    minutes = words / WORDS_A_MIN + TRY_MIN * tries + QUESTION_MIN * questions + CODE_MIN * code
    told = (
        f"{words} words / {WORDS_A_MIN} + {tries} try-it x {TRY_MIN} + {questions} questions x "
        f"{QUESTION_MIN} + {code} code cells x {CODE_MIN} = {minutes:.1f} min"
    )
    return minutes, told


if __name__ == "__main__":
    for path in sorted(NOTEBOOKS.glob("[0-9][0-9]_*.ipynb")):
        read = nbformat.read(path, as_version=4)
        print(f"{path.stem}: {reading_min(Lesson(read, path.stem))[1]}")
        for line in faults(read, path.stem):
            print(f"    {line}")
