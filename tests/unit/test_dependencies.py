"""What is installed with fieldmap is used by it, and written down with a reason."""

import ast
import re
import sys
import tomllib
from importlib import metadata
from pathlib import Path

import grimp

ROOT = Path(__file__).parents[2]
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
# Data that no import names: scripts that are read as files, and zones for `zoneinfo`.
DATA = {
    "django-js-lib-leaflet": "js_lib_leaflet",
    "tzdata": "zoneinfo",
    "cryptography": "security=True",  # Dask makes its certificates with it
}
# What an extra brings, by the name it is imported under; it may be absent.
EXTRAS = {
    "cupy": "cupy-cuda13x",
    "dask": "dask",
    "distributed": "distributed",
    "pystac": "pystac",
    "cryptography": "cryptography",
}
SOURCES = [
    path.read_text("utf-8")
    for package in ("fieldmap", "layers")
    for path in sorted((ROOT / package).rglob("*.py"))
]


def plain(name):
    """A distribution by the rule of PEP 503."""
    return re.sub(r"[-_.]+", "-", name).lower()


def declared(requirements):
    """Distributions of a list of requirements."""
    return {plain(re.match(r"[\w.-]+", one)[0]) for one in requirements}


DECLARED = declared(PYPROJECT["project"]["dependencies"])
OPTIONAL = declared(
    one
    for extra in PYPROJECT["project"]["optional-dependencies"].values()
    for one in extra
)


def imported():
    """Distributions that some module imports, by what they are called when installed."""
    graph = grimp.build_graph(
        "fieldmap", "layers", include_external_packages=True, cache_dir=None
    )
    modules = {name.split(".")[0] for name in graph.modules}
    modules -= {"fieldmap", "layers", *sys.stdlib_module_names}
    found = metadata.packages_distributions()
    return {
        plain(EXTRAS[module] if module in EXTRAS else found[module][0])
        for module in modules
    }


def test_every_dependency_is_imported_and_every_import_is_a_dependency():
    assert imported() | set(DATA) == DECLARED | OPTIONAL
    assert set(EXTRAS.values()) == OPTIONAL
    for named in DATA.values():
        assert any(named in source for source in SOURCES), named


def test_every_dependency_has_its_reason_in_the_guide():
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    table = re.search(r"## Libraries, and why\n(.*?)(?=\n## |\Z)", guide, re.DOTALL)[1]
    rows = re.findall(r"^\| `([^|]+)` \| (.+) \|$", table, re.MULTILINE)
    listed = [
        plain(name) for names, _ in rows for name in re.findall(r"[\w.-]+", names)
    ]
    assert sorted(listed) == sorted(DECLARED | OPTIONAL)
    assert all(len(why.split()) >= 5 for _, why in rows)


def private_reads(source):
    """Attributes with a leading underscore of anything but self, cls and named tuples."""
    public = {"_replace", "_asdict", "_fields"}
    if not re.search(r"(?<!\bself)(?<!\bcls)\._(?!replace|asdict|fields)[a-z]", source):
        return
    for node in ast.walk(ast.parse(source)):
        if (
            isinstance(node, ast.Attribute)
            and re.match(r"_[a-z]", node.attr)
            and node.attr not in public
            and not (
                isinstance(node.value, ast.Name) and node.value.id in ("self", "cls")
            )
        ):
            yield ast.unparse(node)


def test_a_private_read_is_found():
    assert list(private_reads("a._b = self._c\nd._replace(e=1)\nf.g._h()")) == [
        "a._b",
        "f.g._h",
    ]


def test_no_library_is_used_by_its_private_fields():
    assert [read for source in SOURCES for read in private_reads(source)] == []
