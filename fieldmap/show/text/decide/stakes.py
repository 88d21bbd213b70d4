"""How to set out stakes, in words."""

from fieldmap.show.text.language import later

# On which side of the tape stakes lie.
SIDES = (later("left"), later("right"))
PHONE = later(
    "A phone is several steps off: it finds where the tape starts (tape 1 in "
    "stakes.gpx), the tape places the pegs. Hold the tape level, on a slope in short "
    "steps, or beds come out too short."
)
SQUARE = later(
    "Prove the corner square by the diagonal before the next peg: if it is too long or "
    "too short, move the end of the second tape until it fits."
)
