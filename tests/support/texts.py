"""Every text of the package that is marked for translation."""

import tempfile
from functools import cache
from pathlib import Path

from babel.messages.frontend import CommandLineInterface
from babel.messages.pofile import read_po

ROOT = Path(__file__).parents[2]


@cache
def marked_texts():
    """Every marked text, as `make language` finds them."""
    with tempfile.TemporaryDirectory() as folder:
        pot = Path(folder) / "texts.pot"
        options = ["--mapping-file", str(ROOT / "pyproject.toml")]
        CommandLineInterface().run(
            [
                "pybabel",
                "-q",
                "extract",
                *options,
                "-o",
                str(pot),
                str(ROOT / "fieldmap"),
            ]
        )
        with pot.open("rb") as file:
            return {message.id for message in read_po(file)} - {""}


def forms(said):
    """One text, or its singular and plural."""
    return (said,) if isinstance(said, str) else tuple(said)
