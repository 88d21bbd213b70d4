"""What the field log says of the plan, in sentences."""

from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence


def _odds(fact: Fact, _units: Units) -> str:
    return _("Said was a loss in {odds} for those that wait, by kind of crop.").format(
        odds=names.listed([quantities.odds(risk) for risk in fact["risks"]])
    )


def _mean_low(fact: Fact, units: Units) -> str:
    return _("In the middle they ran {difference} than was likely.").format(
        difference=quantities.difference(fact["difference_c"], units)
    )


SENTENCES: dict[str, Sentence] = {
    "log_odds": _odds,
    "log_lows_mean": _mean_low,
}
