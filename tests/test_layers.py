"""Imports point down the table of rooms only, in no circle, and every module stands alone."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "plotter"

# DEVELOPERS.md, lowest first; rooms on one line do not import each other.
ROOMS = [
    {"errors"},
    {"units", "saying"},
    {"geodesy"},
    {"formats"},
    {"voice"},
    {"fix"},
    {"reports"},
    {"log"},
    {"exchange"},
    {"tiles"},
    {"board"},
    {"handover"},
    {"sheet"},
    {"cli"},
]
LEVEL = {room: level for level, rooms in enumerate(ROOMS) for room in rooms}
# Libraries that only one room may know.
KEPT_IN = {
    "folium": "board",
    "branca": "board",
    "js_lib_leaflet": "board",
    "click": "cli",
    "reportlab": "sheet",
    "sqlalchemy": "log",
}
# Heavy libraries that no import of the package itself may pull in.
HEAVY = ("pandas", "geopandas", "folium", "scipy", "rasterio", "reportlab", "PIL", "sqlalchemy")

MODULES = sorted(
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__")
    for path in PACKAGE.rglob("*.py")
    if "data" not in path.parts
)


def room_of(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else ""


def imports_of(module: str) -> set[str]:
    path = PACKAGE.parent / Path(*module.split("."))
    file = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    found: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module} imports relatively: name the module in full"
            found.add(node.module)
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


@pytest.mark.parametrize("module", MODULES)
def test_arrows_point_down(module):
    room = room_of(module)
    if not room:
        return
    for imported in imports_of(module):
        if imported.startswith("plotter."):
            other = room_of(imported)
            if other in LEVEL:
                assert other == room or LEVEL[other] < LEVEL[room], f"{module} imports {imported}"


@pytest.mark.parametrize("module", MODULES)
def test_libraries_stay_in_their_room(module):
    for imported in imports_of(module):
        owner = KEPT_IN.get(imported.split(".")[0])
        assert owner in (None, room_of(module)), f"{module} imports {imported}"


@pytest.mark.parametrize("module", MODULES)
def test_only_the_store_knows_the_database(module):
    roots = {imported.split(".")[0] for imported in imports_of(module)}
    inside = module == "plotter.log.store" or module.startswith("plotter.log.store.")
    assert inside or not roots & {"sqlalchemy", "psycopg"}, module


def test_every_room_has_its_place_in_the_table():
    found = {room_of(module) for module in MODULES} - {""}
    assert found == set(LEVEL)


def test_no_module_imports_itself_in_a_circle():
    graph = {
        module: {other for other in imports_of(module) if other in MODULES and other != module}
        for module in MODULES
    }
    done: set[str] = set()

    def walk(module: str, path: tuple[str, ...]) -> None:
        assert module not in path, " -> ".join([*path[path.index(module) :], module])
        if module in done:
            return
        for other in graph[module]:
            # A package's own __init__ names its modules; they do not name it.
            if not module.startswith(other + "."):
                walk(other, (*path, module))
        done.add(module)

    for module in MODULES:
        walk(module, ())


def test_every_module_imports_alone():
    """Each in a fresh interpreter, all in one process tree: circles and hidden order show here."""
    script = (
        "import subprocess, sys\n"
        "bad = [m for m in sys.argv[1:] if subprocess.run([sys.executable, '-c', "
        "f'import {m}']).returncode]\n"
        "print(*bad)\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script, *MODULES],
        capture_output=True, text=True, check=True, cwd=PACKAGE.parent,
    )  # fmt: skip
    assert result.stdout.split() == [], result.stderr


@pytest.mark.parametrize(
    "module", ["plotter", "plotter.formats", "plotter.cli", "plotter.board", "plotter.sheet"]
)
def test_importing_pulls_in_nothing_heavy(module):
    script = f"import {module}, sys; print(*[m for m in {HEAVY!r} if m in sys.modules])"
    result = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True, text=True, check=True, cwd=PACKAGE.parent,
    )  # fmt: skip
    assert result.stdout.split() == []


def test_importing_the_package_opens_no_file():
    script = (
        "import sys\n"
        "opened = []\n"
        "def watch(event, arguments):\n"
        "    if event == 'open' and not str(arguments[0]).endswith(('.py', '.pyc')):\n"
        "        opened.append(str(arguments[0]))\n"
        "sys.addaudithook(watch)\n"
        "import plotter\n"
        "print(*[name for name in opened if '__pycache__' not in name])\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True, text=True, check=True, cwd=PACKAGE.parent,
    )  # fmt: skip
    assert result.stdout.split() == []


@pytest.mark.parametrize("module", MODULES)
def test_public_names_are_listed_and_real(module):
    __import__(module)
    loaded = sys.modules[module]
    if module.endswith("__main__"):
        return
    doc = loaded.__doc__ or ""
    assert doc.split("\n")[0].rstrip().endswith((".", ":")), f"{module}: first line of docstring"
    if hasattr(loaded, "__all__"):
        assert sorted(set(loaded.__all__)) == sorted(loaded.__all__)
        for name in loaded.__all__:
            assert hasattr(loaded, name), f"{module}.{name}"
    else:
        public = [
            name
            for name, value in vars(loaded).items()
            if not name.startswith("_") and getattr(value, "__module__", None) == module
        ]
        assert public == [], f"{module} has public names and no __all__"
