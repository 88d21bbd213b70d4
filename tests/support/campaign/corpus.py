"""Spoiled files that are kept: what was once found, and one for each way to be refused.

    python -m campaign.corpus --cases 2000 --seed 5

draws cases, and keeps a small file wherever something is said that no kept file brings
out. Each lies in `corpus/KIND/`, named by its content; a campaign spoils them further, and
the tests read some of them each time. What was found is named `found-...`.
"""

import argparse
import hashlib
import tempfile
from pathlib import Path

from campaign import fuzz, inputs
from campaign.attempt import Watch, read_fields
from fieldmap.errors import FieldmapError, Problem
from fieldmap.read import read_site
from fieldmap.show.text.language import codes

LARGEST = 6_000  # bytes of a file that is kept


def texts(folder: Path) -> set[str]:
    """The sentences that a site is refused with, without their values."""
    found = set[str]()
    for read in (lambda place: read_site(place, codes()), *read_fields):
        try:
            read(folder)
        except FieldmapError as error:
            found |= {_text(each) for each in error.problems}
    return found


def _text(said: Problem | str) -> str:
    if not isinstance(said, Problem):
        return str(said)
    parts = [each for each in said.values.values() if isinstance(each, Problem)]
    return " ".join([said.text, *map(_text, parts)])


def gather(seed: int, cases: int) -> int:
    """Draw cases and keep those that say something new; how many were kept."""
    known, new = set[str](), 0
    with tempfile.TemporaryDirectory() as aside:
        watch = Watch(Path(aside) / "outside")

        def said(kind: inputs.Kind, content: bytes, name: str) -> set[str]:
            place = Path(aside) / name
            fuzz.lay_out(kind, content, place, watch)
            return texts(place)

        kinds = fuzz.kinds()
        for name, files in inputs.kept().items():
            for file, content in files:
                known |= said(kinds[name], content, f"{name} {file}")
        for number in range(cases):
            kind, spoiled = fuzz.drawn(seed, number)
            if not isinstance(spoiled, bytes) or len(spoiled) > LARGEST:
                continue
            found = said(kind, spoiled, str(number))
            if found - known:
                known |= found
                new += 1
                place = inputs.KEPT / kind.name.replace(" ", "_")
                place.mkdir(parents=True, exist_ok=True)
                digest = hashlib.sha256(spoiled).hexdigest()[:12]
                (place / digest).write_bytes(spoiled)
    return new


def main() -> None:
    """Gather, and print how many files there are."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    new = gather(asked.seed, asked.cases)
    every = [path.stat().st_size for path in inputs.KEPT.rglob("*") if path.is_file()]
    print(f"{new} kept anew; {len(every)} files, {sum(every)} bytes")


if __name__ == "__main__":
    main()
