"""What will be written into a site folder, and said of it."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from fieldmap.model.fact import Fact
from fieldmap.read.start import folder as site_folder
from fieldmap.read.start.elevation.window import Heights

FETCHED = "fetched.toml"


@dataclass
class Made:
    """Files, sentences and credits, as they are gathered.

    Attributes
    ----------
    files
        Content by name.
    choices
        The text of `site.toml`.
    heights
        Of the ground, where they are made now; else None.
    """

    now: datetime
    choices: str = ""
    heights: Heights | None = None
    files: dict[str, bytes] = field(default_factory=dict)
    facts: list[Fact] = field(default_factory=list)
    fetched: list[Mapping[str, Any]] = field(default_factory=list)

    def take(
        self,
        name: str,
        content: bytes,
        source: tuple[str, str, str],
        addresses: Sequence[str],
    ) -> None:
        """A file that was fetched, with when and from whom.

        Parameters
        ----------
        name
            Of the file in the site folder.
        content
            All of its bytes.
        source
            Name, licence and credit of who publishes it.
        addresses
            From which it was fetched.
        """
        self.files[name] = content
        self.fetched.append(
            {
                "file": name,
                "when": self.now.strftime("%Y-%m-%dT%H:%M:%SZ"),
                "source": source[0],
                "licence": source[1],
                "credit": source[2],
                "addresses": list(addresses),
                "sha256": hashlib.sha256(content).hexdigest(),
            }
        )

    def list_of_fetched(self, folder: Path) -> bytes:
        """The list of what was fetched, after what stands in the folder already."""
        before = site_folder.text_of(folder, FETCHED)
        blocks = [
            "[[fetched]]\n"
            + "".join(
                f"{key} = {json.dumps(value, ensure_ascii=False)}\n"
                for key, value in each.items()
            )
            for each in self.fetched
        ]
        return "\n".join([before, *blocks] if before else blocks).encode()
