"""The layout rules of DEVELOPERS.md that a linter cannot see, and the linters themselves."""

import ast
import re
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.core.management import call_command

ROOT = Path(settings.BASE_DIR)
PACKAGES = ("workshop", "parts", "jobs")
TOP = {
    "README.md", "DEVELOPERS.md", "manage.py", "pyproject.toml",
    "workshop", "parts", "jobs", "templates", "tests", "fixtures",
}  # fmt: skip
MADE_BY_TOOLS = {"build", "dist", "__pycache__"}
NO_NAMES = {"utils.py", "helpers.py", "common.py", "signals.py", "managers.py"}
# What may be known of what: a step may point at an earlier one, never at a later one.
STEPS = [
    {"intake"}, {"operations"}, {"assessment"}, {"estimating"}, {"quoting"}, {"worklist"}, {"supplies"},
    {"scheduling"}, {"hours"}, {"billing"}, {"verification"}, {"updates"}, {"portal", "desk"},
]  # fmt: skip
FILE_LINES, TEMPLATE_LINES, FUNCTION_LINES = 400, 150, 60


def python_files(*folders):
    for folder in folders:
        for file in sorted((ROOT / folder).rglob("*.py")):
            if "migrations" not in file.parts:
                yield file


def named(files):
    return [str(file.relative_to(ROOT)) for file in files]


def test_nothing_else_stands_at_the_top():
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.suffix != ".egg-info"}
    assert there - MADE_BY_TOOLS == TOP


def test_no_python_file_is_too_long():
    lengths = {file: len(file.read_text(encoding="utf-8").splitlines()) for file in python_files(*PACKAGES, "tests")}
    assert named(file for file, length in lengths.items() if length > FILE_LINES) == []


def test_no_template_is_too_long():
    files = [file for file in (ROOT / "templates").rglob("*") if file.suffix in {".html", ".txt"}]
    assert files
    assert named(file for file in files if len(file.read_text("utf-8").splitlines()) > TEMPLATE_LINES) == []


def test_words_for_people_have_the_typographic_apostrophe():
    straight = re.compile(r"[A-Za-z]'[a-z]")
    found = []
    for file in python_files(*PACKAGES):
        text = file.read_text(encoding="utf-8")
        if not straight.search(text):
            continue
        tree = ast.parse(text)
        told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}  # docstrings
        strings = (n for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str))
        found += [f"{file.name}:{n.lineno}" for n in strings if id(n) not in told and straight.search(n.value)]
    assert found == []


def test_no_function_is_too_long():
    long = []
    for file in python_files(*PACKAGES):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                length = (node.end_lineno or node.lineno) - node.lineno + 1
                if length > FUNCTION_LINES:
                    long.append(f"{file.relative_to(ROOT)}: {node.name}, {length} lines")
    assert long == []


def test_no_file_has_a_name_that_says_nothing():
    assert named(file for file in python_files(*PACKAGES, "tests") if file.name in NO_NAMES) == []


def test_every_package_says_what_it_is_for():
    silent = []
    for file in python_files(*PACKAGES):
        if file.name == "__init__.py" and not ast.get_docstring(ast.parse(file.read_text(encoding="utf-8"))):
            silent.append(file)
    assert named(silent) == []


def place_of(model):
    """Return (package, step) of the file a model is written in."""
    package, step, *_ = model.__module__.split(".")
    return package, step


def rank(package, step):
    """Return how late in the line a place is; equal places may not point at each other."""
    inside = 0
    if package == "jobs":
        inside = next(number for number, steps in enumerate(STEPS) if step in steps)
    return PACKAGES.index(package), inside


def pointers():
    for model in apps.get_models():
        if place_of(model)[0] not in PACKAGES:
            continue
        for field in model._meta.get_fields():
            if field.is_relation and not field.auto_created and field.related_model is not None:
                yield model, field


def test_no_foreign_key_points_at_a_later_step():
    wrong, seen = [], 0
    for model, field in pointers():
        target = place_of(field.related_model)
        if target[0] not in PACKAGES:
            continue  # Django's own
        seen += 1
        here = place_of(model)
        if here != target and rank(*target) > rank(*here):
            wrong.append(f"{model.__name__}.{field.name} -> {field.related_model.__name__}")
        if here != target and here[0] == "jobs" and rank(*target) == rank(*here):
            wrong.append(f"{model.__name__}.{field.name} -> {field.related_model.__name__}")
    assert wrong == []
    assert seen > 40


BLOCK = """
import importlib, sys
class Block:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {"django", "celery", "redis", "reportlab", "django_tables2", "environ"}:
            raise ImportError(f"calc reached for {name}")
sys.meta_path.insert(0, Block())
# The package above imports its Celery application; the arithmetic must not need it.
import types
for name in ("workshop", "parts", "jobs"):
    module = types.ModuleType(name)
    module.__path__ = [name]
    sys.modules[name] = module
for name in sys.argv[1:]:
    importlib.import_module(name)
print(len(sys.argv) - 1)
"""


def test_every_calc_works_without_django():
    files = [file for file in python_files(*PACKAGES) if "calc" in file.parts or file.name == "calc.py"]
    modules = [".".join(file.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for file in files]
    assert len(modules) > 40
    done = subprocess.run(
        [sys.executable, "-c", BLOCK, *modules], cwd=ROOT, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr[-3000:]
    assert int(done.stdout) == len(modules)


@pytest.mark.django_db
def test_no_migration_is_missing():
    out = StringIO()
    try:
        call_command("makemigrations", check=True, dry_run=True, stdout=out, verbosity=1)
    except SystemExit:
        pytest.fail(f"Run makemigrations:\n{out.getvalue()}")


def test_no_file_names_a_place_of_one_machine():
    # Put together here, so that this file does not name them either.
    places = ["/" + "work/", "/" + "tmp/", "/" + "root/", "/" + "home/"]
    wrong = []
    for folder in (*PACKAGES, "templates", "tests", "fixtures", ".ci"):
        for file in (ROOT / folder).rglob("*"):
            if file.suffix in {".py", ".html", ".txt", ".md", ".csv", ".css", ".js", ".toml", ""} and file.is_file():
                text = file.read_text(encoding="utf-8", errors="ignore")
                wrong += [f"{file.relative_to(ROOT)}: {place}" for place in places if place in text]
    assert wrong == []


@pytest.mark.parametrize(
    "command",
    [
        ["-m", "ruff", "check", "--no-cache", "."],
        ["-m", "ruff", "format", "--no-cache", "--check", "."],
        ["-c", "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"],
    ],
    ids=["ruff check", "ruff format", "import contracts"],
)
def test_the_linters_have_nothing_to_say(command):
    done = subprocess.run([sys.executable, *command], cwd=ROOT, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, (done.stdout + done.stderr)[-4000:]
