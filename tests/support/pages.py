"""The pages of the documentation, and what they show."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
README = ROOT / "README.md"
# Written by `make reference`.
GENERATED = ("site_toml.md", "commands.md", "files.md", "glossary.md")


def pages():
    """Every page that people read, README first, by its path within the project."""
    paths = [README, *sorted(DOCS.rglob("*.md"))]
    others = [ROOT / "CHANGELOG.md", ROOT / "DEVELOPERS.md"]
    return {
        path.relative_to(ROOT).as_posix(): path.read_text("utf-8")
        for path in [*paths, *others]
    }


def blocks(text, language):
    """The blocks of code of a language, also those within lists."""
    found = re.findall(rf"^( *)```{language}\n(.*?)^ *```$", text, re.M | re.S)
    return [re.sub(rf"(?m)^{indent}", "", block) for indent, block in found]


def commands(text):
    """The command lines of a page, in order."""
    return [
        line.removeprefix("$ ")
        for block in blocks(text, "console")
        for line in block.splitlines()
        if line.startswith("$ ")
    ]


def prose(text):
    """A page without code, tables, pictures and marks: what is read as sentences."""
    text = re.sub(r"(?s)^ *```.*?^ *```$", "", text, flags=re.M)
    text = re.sub(r"(?m)^\|.*$|^<.*$|^!\[.*$|^#.*$|^\s*-+\s*$", "", text)
    text = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", text)
    return re.sub(r"`([^`]*)`|\*\*", r"\1", text)
