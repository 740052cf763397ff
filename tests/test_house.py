"""The house rules that a script can check: layout, imports, docstrings, sizes, packaging."""

import ast
import doctest
import graphlib
import importlib
import inspect
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import signalshed
from signalshed import facts

REPO = Path(__file__).resolve().parents[1]
PACKAGE = REPO / "lib" / "signalshed"
_IN_ORDER = """
facts units words markup tables channels earth path chain belief meters wires builds antenna registers
site budget survey trials advice simulate plots report classroom
"""
ORDER = tuple(_IN_ORDER.split())
_BELOW_PLOTS = ORDER[: ORDER.index("plots")]
STATUS = {"published", "derived", "practice", "judgement", "unchecked"}


def _tracked():
    """Every file of the project, as git knows it, or as found in a copy without git."""
    if (REPO / ".git").exists():
        git = [
            "git",
            "-C",
            str(REPO),
            "ls-files",
            "-z",
            "--cached",
            "--others",
            "--exclude-standard",
        ]
        listed = subprocess.run(git, capture_output=True, check=True, text=True).stdout.split("\0")
        return sorted({REPO / name for name in listed if name and (REPO / name).is_file()})
    hidden = (".venv", "__pycache__", ".ipynb_checkpoints", ".git")
    found = (p for p in REPO.rglob("*") if p.is_file())
    return sorted(
        p for p in found if not any(x.startswith(hidden) for x in p.relative_to(REPO).parts)
    )


SOURCES = sorted(PACKAGE.rglob("*.py"))
TRACKED = _tracked()


TREES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in SOURCES}


def _short(path):
    return str(path.relative_to(REPO))


def _none(faults):
    """Fails with every fault there is, one a line."""
    faults = list(faults)
    assert not faults, "\n".join(["", *faults])


def _module_of(path):
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def _imports(path):
    """Names this file imports: ``signalshed`` modules by their own name, others by the top one."""
    here = len(path.relative_to(PACKAGE).parts) - 1
    for node in ast.walk(TREES[path]):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level > here:
            names = [node.module.split(".")[0]] if node.module else [a.name for a in node.names]
            yield from (f".{name}" for name in names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module.split(".")[0]


# ---- layout and imports -------------------------------------------------------------------------


def test_top_level_is_exactly_the_house():
    top = {path.relative_to(REPO).parts[0] for path in TRACKED}
    assert {name for name in top if not name.startswith(".")} == {
        "README.md",
        "DEVELOPERS.md",
        "requirements.txt",
        "notebooks",
        "lib",
        "tests",
        "demo_data",
    }


def test_the_package_holds_exactly_its_modules():
    here = {_module_of(path) for path in SOURCES} - {"__init__"}
    assert here == set(ORDER)
    assert sorted(signalshed._MODULES) == sorted(ORDER)


def _later(path):
    """Modules that this file imports and that come after its own."""
    module = _module_of(path)
    if module == "__init__":
        return []
    ours = [name[1:] for name in _imports(path) if name.startswith(".")]
    return [n for n in ours if n in ORDER and ORDER.index(n) > ORDER.index(module)]


def test_a_module_imports_only_earlier_ones():
    _none(f"{_short(p)} imports {n}, which comes after it" for p in SOURCES for n in _later(p))


def _dotted(path):
    """A file's place in the package as Python names it; "" for the package itself."""
    return (
        ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
        .removesuffix("__init__")
        .rstrip(".")
    )


def _asked_for(module, is_package, tree, modules):
    """Modules of ours that a module imports anywhere in it, inside its functions too."""
    parts = module.split(".") if module else []
    for node in ast.walk(tree):
        if not isinstance(node, ast.ImportFrom) or not node.level:
            continue
        up = node.level - is_package
        base = [*parts[: len(parts) - up], *(node.module.split(".") if node.module else [])]
        for alias in node.names:
            inner = ".".join([*base, alias.name])
            yield inner if inner in modules else ".".join(base)


def _circle(trees):
    """The first circle of modules that import one another, [] for none; ``trees`` by module."""
    packages = {""} | {name.rpartition(".")[0] for name in trees}
    graph = {
        name: {x for x in _asked_for(name, name in packages, tree, trees) if x != name}
        for name, tree in trees.items()
    }
    try:
        graphlib.TopologicalSorter(graph).prepare()
    except graphlib.CycleError as error:
        return error.args[1]
    return []


def test_no_circle_of_modules():
    assert _circle({_dotted(path): TREES[path] for path in SOURCES}) == []


def test_a_circle_is_found_inside_functions_and_through_a_package():
    inside = {"a.one": "from .two import x", "a.two": "def f():\n    from .one import y", "a": ""}
    package = {"a": "from .one import x", "a.one": "def f():\n    from . import NAME"}
    folders = {
        "a": "from .b import x",
        "b": "from .c.d import x",
        "c": "",
        "c.d": "from .. import a",
    }
    straight = {"a": "from .one import x", "a.one": "from ..b import x", "b": "import os"}
    found = [
        {name for name in _circle({k: ast.parse(v) for k, v in sources.items()})}
        for sources in (inside, package, folders, straight)
    ]
    assert found == [{"a.one", "a.two"}, {"a", "a.one"}, {"a", "b", "c.d"}, set()]


def _writes_html(path):
    """Pieces of HTML that belong to ``markup`` alone, in code and not in an example."""
    if path.name == "markup.py":
        return []
    text = re.sub(r"^ *>>>.*$", "", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return re.findall(r"<table|<t[rdh]\b|<caption|html\.escape|from html import|_repr_html_", text)


def test_tables_escapes_and_cards_stand_in_one_module():
    _none(f"{_short(p)} has {x}: use signalshed.markup" for p in SOURCES for x in _writes_html(p))


def _from_upstairs(path):
    """Figures and widgets that this file imports and that its module may not know."""
    module = _module_of(path)
    widgets = {"ipywidgets", "IPython"}
    figures = {"matplotlib"} if module == "__init__" or module in _BELOW_PLOTS else set()
    return set(_imports(path)) & ((figures | widgets) if module != "classroom" else figures)


def test_figures_and_widgets_stay_upstairs():
    _none(f"{_short(p)} imports {n}" for p in SOURCES for n in sorted(_from_upstairs(p)))


def test_import_is_lazy():
    code = (
        "import sys, signalshed as shed\n"
        "assert 'numpy' not in sys.modules, 'import signalshed loads numpy'\n"
        "shed.advice.rank\n"
        "assert not {'matplotlib', 'ipywidgets'} & set(sys.modules), 'advice loads figures'\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_an_unknown_module_is_named():
    with pytest.raises(AttributeError, match="it has facts, units"):
        _ = signalshed.nonsense


# ---- docstrings ---------------------------------------------------------------------------------


def _public(module_name):
    """(place, object) of every public function, class and method of one module."""
    module = importlib.import_module(f"signalshed.{module_name}")
    for name in getattr(module, "__all__", None) or [n for n in vars(module) if n[0] != "_"]:
        thing = getattr(module, name)
        if not getattr(thing, "__module__", "").startswith(module.__name__):
            continue
        if inspect.isfunction(inspect.unwrap(thing)) or inspect.isclass(thing):
            yield f"{module_name}.{name}", thing
        if inspect.isclass(thing):
            methods = ((n, m) for n, m in vars(thing).items() if n[0] != "_")
            yield from (
                (f"{module_name}.{name}.{n}", m) for n, m in methods if inspect.isfunction(m)
            )


def _arguments(thing):
    if inspect.isclass(thing) and issubclass(thing, (Exception, str)):
        return []
    return [
        n for n in inspect.signature(thing).parameters if n[0] != "_" and n not in ("self", "cls")
    ]


def _faults_of_docstring(place, thing):
    doc = inspect.getdoc(thing) or ""
    if len(doc) < 20 or doc == inspect.getdoc(object):
        return [f"{place} has no docstring"]
    missing = [name for name in _arguments(thing) if not re.search(rf"\b{name}\b", doc)]
    return [f"{place} does not say what {', '.join(missing)} is"] if missing else []


PUBLIC = [pair for module in ORDER for pair in _public(module)]
FUNCTIONS = [(place, thing) for place, thing in PUBLIC if not inspect.isclass(thing)]


def test_every_public_argument_is_documented():
    _none(fault for place, thing in PUBLIC for fault in _faults_of_docstring(place, thing))


def _handed_to_borrowers():
    """(place, function) of all that site, survey and advice hand on, what they have from others too,
    and of functions and methods of meters and trials."""
    for room in (signalshed.site, signalshed.survey, signalshed.advice):
        for name in room.__all__:
            if inspect.isfunction(getattr(room, name)):
                yield f"{room.__name__}.{name}", getattr(room, name)
    yield from (pair for pair in FUNCTIONS if pair[0].startswith(("meters.", "trials.")))


def _sections(doc):
    """What stands in each section of a docstring as tools render it: {title: text}."""
    parts = re.split(r"^(\w+)\n-{3,}\n", doc, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def _faults_of_a_borrowed(place, function):
    hints, names = inspect.get_annotations(function), [*_arguments(function), "return"]
    bare = [name for name in names if name not in hints]
    if bare:
        yield f"{place}: no annotation of {', '.join(bare)}"
    sections = _sections(inspect.getdoc(function))
    lines = re.findall(r"^(\w[\w, ]*)$", sections.get("Parameters", ""), flags=re.MULTILINE)
    listed = [name for line in lines for name in line.split(", ")]
    if listed != _arguments(function):
        yield f"{place}: its section Parameters has not just its parameters, but {listed}"
    needed = {"Examples", *(["Returns"] if hints.get("return", 0) is not None else [])}
    if not needed <= set(sections):
        yield f"{place}: lacks the section Returns or Examples"


def test_what_borrowers_are_handed_is_annotated_and_renders():
    _none(fault for pair in _handed_to_borrowers() for fault in _faults_of_a_borrowed(*pair))


def test_a_function_takes_few_arguments():
    _none(
        f"{place} takes {len(_arguments(thing))} arguments: a dataclass is missing"
        for place, thing in FUNCTIONS
        if len(_arguments(thing)) > 8
    )


def test_every_public_function_shows_an_example():
    _none(
        f"{place} shows no example that runs"
        for place, thing in FUNCTIONS
        if place.count(".") == 1 and ">>>" not in (inspect.getdoc(thing) or "")
    )


def _failed_examples(path):
    """What the examples of one file print wrong, as doctest tells it."""
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    module = importlib.import_module(".".join(parts).removesuffix(".__init__"))
    told, runner = [], doctest.DocTestRunner(verbose=False)
    for example in doctest.DocTestFinder().find(module):
        runner.run(example, out=told.append)
    return told


@pytest.mark.parametrize("module", ["__init__", *ORDER])
def test_every_example_runs(module):
    _none(t for path in SOURCES if _module_of(path) == module for t in _failed_examples(path))


# ---- size and style -----------------------------------------------------------------------------


def _body_lines(function):
    """Lines of a function without its signature and docstring."""
    body = function.body
    if isinstance(body[0], ast.Expr) and isinstance(getattr(body[0], "value", None), ast.Constant):
        body = body[1:]
    return body[-1].end_lineno - body[0].lineno + 1 if body else 0


def _too_long(path):
    for node in ast.walk(TREES[path]):
        if isinstance(node, ast.FunctionDef) and _body_lines(node) > 40:
            yield f"{_short(path)}: the body of {node.name} has {_body_lines(node)} lines, above 40"
    lines = path.read_text(encoding="utf-8").count("\n")
    if lines > 500:
        yield f"{_short(path)} has {lines} lines: above 400 ask whether it is two subjects"


def test_functions_and_files_fit_one_look():
    _none(fault for path in SOURCES for fault in _too_long(path))


def _bare(node):
    return isinstance(node, ast.Assert) or (
        isinstance(node, ast.ExceptHandler) and node.type is None
    )


def test_no_bare_assert_or_except():
    _none(
        f"{_short(path)}, line {node.lineno}: a bare {type(node).__name__}"
        for path, tree in TREES.items()
        for node in ast.walk(tree)
        if _bare(node)
    )


_UNWANTED = [
    r"\bTO" + r"DO\b",
    r"\bFIX" + r"ME\b",
    r"\bX" + r"XX\b",
    r"/wo" + r"rk/",
    r"/ro" + r"ot/",
    r"\bDES" + r"IGN\.md",
    r"\bST" + r"YLE\.md",
    r"\bRU" + r"LES\.md",
    r"\bdesign " + r"card\b",
    r"(?<!BPR-3 )(?<!BPR-10 )\bissues? #?\d",
    r"\bsub-?ag" + r"ents?\b",
    r"\bAI assis" + r"tant",
    r"\bfrom mem" + r"ory\b",
    r"\bas remem" + r"bered\b",
]


def _unwanted(path):
    if " " in path.name:
        yield f"{_short(path)}: file names without spaces"
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return
    text = re.sub(r"data:image/[^\"']+|\"image/png\": \"[^\"]+\"", "", text)
    for pattern in _UNWANTED:
        yield from (f"{_short(path)}: {m.group()}" for m in re.finditer(pattern, text))


def test_nothing_unfinished_and_no_foreign_paths():
    _none(fault for path in TRACKED for fault in _unwanted(path))


# ---- facts --------------------------------------------------------------------------------------


def _faults_of_facts(name):
    rows = facts.table(name)
    if not len(rows):
        yield f"{name} is empty"
    for row in rows[rows.source.isna() | ~(rows.source.str.len() > 3)].index:
        yield f"{name}, row {row}: no source"
    for row in rows[~rows.status.isin(STATUS)].index:
        yield f"{name}, row {row}: status {rows.status[row]}"
    for row in rows[rows.source.str.contains("memory|remember", case=False, na=False)].index:
        yield f"{name}, row {row}: tells how its writer came by it"


def test_every_fact_has_a_source_and_a_standing():
    _none(fault for name in facts.names() for fault in _faults_of_facts(name))


# ---- packaging ----------------------------------------------------------------------------------


def _ranges(text):
    found = re.findall(r"^\s*\"?([A-Za-z][\w.-]*)(>=[^\s\",]+,<[^\s\",]+)", text, re.MULTILINE)
    return dict(found)


def test_requirements_are_ranges_and_agree_with_the_package():
    lines = (REPO / "requirements.txt").read_text(encoding="utf-8").splitlines()
    wanted = [line for line in lines if line and not line.startswith("#")]
    assert wanted[-1] == "./lib"
    project = tomllib.loads((REPO / "lib" / "pyproject.toml").read_text(encoding="utf-8"))
    package = _ranges("\n".join(project["project"]["dependencies"]))
    class_room = _ranges("\n".join(wanted))
    assert len(class_room) == len(wanted) - 1, "every line but the last is name>=tested,<next major"
    assert class_room == package | {"jupyterlab": class_room["jupyterlab"]}
    assert project["project"]["version"] == signalshed.__version__


def test_tests_import_only_what_is_required():
    text = "".join(
        (REPO / name).read_text() for name in ("requirements.txt", "tests/requirements.txt")
    )
    other_name = {"scikit_rf": "skrf"}
    listed = {name.replace("-", "_") for name in _ranges(text)}
    # These come with nbclient and jupyterlab.
    comes_along = {"nbformat", "nbconvert", "mistune", "jupyter_client", "tornado"}
    with_jupyter = comes_along | {"jupyterlab", "nbclient", "playwright"}
    known = {other_name.get(name, name) for name in listed} | comes_along
    known |= {"signalshed", "IPython"}
    paths = sorted((REPO / "tests").rglob("*.py"))
    local = {p.stem for p in paths} | {"tests"}
    for path in paths:
        # .ci/run tests the lowest versions without Jupyter: tests/test_*.py have to do without it.
        alone = path.parent.name == "tests" and path.name.startswith("test_")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and node.level == 0:
                names = [node.module]
            tops = {name.split(".")[0] for name in names} - set(sys.stdlib_module_names)
            assert tops <= known | local, f"{path.name} imports {tops - known - local}"
            assert not (alone and tops & with_jupyter), f"{path.name}: put it into tests/lessons"


def _console_blocks():
    readme = (REPO / "README.md").read_text(encoding="utf-8")
    return re.findall(r"^```bash\n(.*?)^```", readme, re.MULTILINE | re.DOTALL)


def test_the_readme_holds_two_commands_of_one_line():
    blocks = _console_blocks()
    assert len(blocks) == 2
    for block in blocks:
        assert block.count("\n") == 1 and block.startswith("python3 -m venv .venv")
    assert "-r requirements.txt" in blocks[0] and "notebooks/00_start_here.ipynb" in blocks[0]
    assert "-r tests/requirements.txt" in blocks[1] and "pytest" in blocks[1]


def test_readme_links_lead_somewhere():
    for name in ("README.md", "DEVELOPERS.md"):
        text = (REPO / name).read_text(encoding="utf-8")
        targets = re.findall(r"\]\(([^)#]+)\)|src=\"([^\"]+)\"", text)
        for target in (a or b for a, b in targets):
            if not target.startswith("http"):
                assert (REPO / target).exists(), f"{name} points to {target}"


@pytest.fixture(scope="module")
def installed(tmp_path_factory):
    """The package as a wheel, unpacked by pip outside the checkout."""
    folder = tmp_path_factory.mktemp("wheel room")
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    build = ["wheel", "--no-deps", "--no-build-isolation", "-w", str(folder), str(REPO / "lib")]
    before = {p for p in (REPO / "lib").rglob("*") if "__pycache__" not in p.parts}
    subprocess.run([*pip, *build], check=True, capture_output=True)
    after = {p for p in (REPO / "lib").rglob("*") if "__pycache__" not in p.parts}
    assert after == before, "building left something in the tree"
    wheel = next(folder.glob("signalshed-*.whl"))
    target = folder / "site"
    subprocess.run([*pip, "install", "--no-deps", "--target", str(target), str(wheel)], check=True)
    return target


def test_an_installed_wheel_works_outside_the_checkout(installed):
    code = (
        "import pathlib, signalshed as shed\n"
        f"assert pathlib.Path(shed.__file__).is_relative_to({str(installed)!r}), shed.__file__\n"
        "assert shed.channels.centre_mhz(14) == 473\n"
        "folder = pathlib.Path('my roof')\n"
        "shed.site.new_site(folder)\n"
        "print(len(shed.facts.names()), len(list(folder.rglob('*'))))\n"
    )
    env = os.environ | {"PYTHONPATH": str(installed)}
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=installed.parent,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    tables, files = map(int, done.stdout.split())
    assert tables == len(facts.names()) and files >= 3


def test_the_wheel_ships_every_data_file(installed):
    data = [p for p in PACKAGE.rglob("*") if p.is_file() and "__pycache__" not in p.parts]
    missing = [p for p in data if not (installed / p.relative_to(PACKAGE.parent)).is_file()]
    assert not missing
