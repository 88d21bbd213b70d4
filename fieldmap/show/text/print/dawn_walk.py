"""What learners read on a dawn walk."""

from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later
from fieldmap.show.text.quantities import Units

TITLE = later("Dawn walk: where does the cold air lie?")
FELT_M = 0.1  # a shallower layer is hardly one
INTRODUCTION = later(
    "Cold air is heavier than warm air. On a clear, calm night it forms over "
    "open ground, runs downhill like slow water, and lies in low places and "
    "behind hedges. Walk it once before sunrise and you will never forget "
    "where it lay."
)
PLAN = later("A plan of the plots with numbered pegs.")
PLAN_KEY = later("Where the numbered pegs stand.")
STEPS = (
    later(
        "Choose an evening with a clear sky and no wind after a warm day. On a windy or "
        "cloudy night there is little to learn."
    ),
    later(
        "The evening before, hang one thermometer at each peg, all alike, all at the "
        "same height, under a small white roof, and swap two of them now and then: "
        "cheap ones differ by a degree."
    ),
    later(
        "Before you walk, everyone writes which peg is the coldest and which the "
        "warmest. Say why."
    ),
    later(
        "Go in the last half hour before sunrise, together, with a light. Read each peg "
        "without breathing on it, then feel the air at your ankles."
    ),
    later("Only then turn the page."),
)
SEEN = later("Wind, dew, frost seen")
# By the sign beside them.
CAUTIONS = {
    "stakes": later("In the dark go slowly; mark stakes and ropes. Cap every stake."),
    "cold": later("Dress for standing still in frost."),
}
ANSWERS = later("What the plan says")
ORDER = later(
    "Coldest first. Colder and warmer are told against the middle of the plots."
)
EXPECTED = later("Expected on a clear, calm night")
ALL_ALIKE = later(
    "The plan expects no real difference between these pegs. If your "
    "thermometers say otherwise, trust them: write them into thermometers.csv."
)
QUESTIONS = (
    later(
        "Where were you right, where was the plan wrong? The order of places "
        "is better known than the degrees."
    ),
    later(
        "What holds the cold air back: a hedge, a wall, a bank? What would a "
        "gap do, and who lies below it?"
    ),
    later("Where would you put tomatoes, and where spinach?"),
    later(
        "Keep the readings: ten such mornings from three thermometers teach "
        "the plan your own degrees (fieldmap observe)."
    ),
)


def because(depth_m: float, units: Units) -> str:
    """Why a peg is as cold as it is."""
    if not depth_m >= FELT_M:
        return _("hardly any cold air lies there")
    return _("cold air lies about {depth} deep there").format(
        depth=quantities.length(round(depth_m, 1), units)
    )
