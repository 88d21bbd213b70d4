"""Write the pages, and the parts of pages, that come from the code: `make reference`."""

from pathlib import Path

import commands
import files
import keys
import tables

DOCS = Path(__file__).parents[1]


def pages() -> dict[str, str]:
    """Each page by its path within `docs`."""
    covers, elevation = "methods/covers.md", "guides/elevation_and_weather.md"
    return {
        "reference/site_toml.md": keys.page("site.toml"),
        "reference/region_toml.md": keys.page("region.toml"),
        "reference/commands.md": commands.page(),
        "reference/files.md": files.page(),
        "glossary.md": tables.glossary(),
        covers: tables.filled(_text(covers), "covers", tables.covers()),
        elevation: tables.filled(_text(elevation), "elevation", tables.elevation()),
    }


def _text(path: str) -> str:
    return (DOCS / path).read_text("utf-8")


if __name__ == "__main__":
    for path, text in pages().items():
        (DOCS / path).write_text(text, "utf-8")
