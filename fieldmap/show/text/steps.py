"""The steps of making a plan, as one waits for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.text.language import later

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldmap.show.text.sentence import Sentence

SENTENCES: Mapping[str, Sentence] = {
    "step_bearings": later("which way beds run"),
    "step_tunnels": later("places for walk-in tunnels"),
    "step_beds": later("beds and their order"),
    "step_crop_plan": later("what goes where"),
    "step_what_if": later("what if: {change}"),
}
