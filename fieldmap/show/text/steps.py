"""The steps of the work as one waits for them, and where its results lie."""

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
    "step_reading_site": later("reading the site"),
    "step_reading_sites": later("reading the sites"),
    "step_compiling": later(
        "compiling the slow parts; only this first run waits for it"
    ),
    "step_drawing": later("drawing the map and the sheets"),
    "plan_unchanged": later(
        "nothing has changed since this plan was made; it stays as it is"
    ),
    "plan_is_in": later("the plan is in {folder}; open {map}"),
    "page_is": later("the page is {file}"),
    "page_and_numbers_are": later("the page is {file}, its numbers {numbers}"),
    "review_is_in": later("what was said and read is in {file}"),
    "no_file_yet": later("There is no {file} yet; its first line is {example}."),
}
