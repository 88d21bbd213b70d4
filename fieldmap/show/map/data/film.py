"""The night as a short film: how the cold comes, frame by frame."""

from collections.abc import Sequence
from typing import TypedDict

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.cold_air.flow import Night
from fieldmap.analyse.fields import ColdAirFields
from fieldmap.model.raster import Raster
from fieldmap.show.map.questions.cold import on_ramp
from fieldmap.show.map.scene import field
from fieldmap.show.map.scene.fields import Field
from fieldmap.show.map.scene.frame import Frame
from fieldmap.show.text import names
from fieldmap.show.text.map import cold_air as words
from fieldmap.show.text.sentence import phrase

# Frames of one film: enough for a few seconds, few enough for a file that is mailed.
MOST_FRAMES = 14


class Moment(TypedDict):
    """A frame that has a name."""

    frame: int
    said: str


class Film(TypedDict):
    """Ground of one night in its order, the last one its end, and hours in words."""

    frames: list[Field]
    captions: list[str]
    moments: list[Moment]


def film(cold_air: ColdAirFields, frame: Frame) -> Film | None:
    """The night in the colours of the legend; None where no air was let run.

    The last frame is the end of the night, drawn as the still picture is. Before, a
    place has as much of its cold as the root of its air has of what it will be.
    """
    night = cold_air.night
    if night is None:
        return None
    end = on_ramp(cold_air.offset_c)
    frames, captions, shares = [], [], []
    at_end = _root(night, night.depth_m.values, end.at)
    for hour, depth_m in _moments(night):
        now = _root(night, depth_m, end.at)
        share = np.divide(now, at_end, out=np.zeros_like(now), where=at_end > 0)
        if hour == night.hours:
            share = np.ones_like(now)
        frames.append(
            field(end.at.with_values(end.at.values * share), end.ramp, frame, {})
        )
        captions.append(words.after_sunset(hour))
        shares.append(float(share[at_end > 0].mean()) if (at_end > 0).any() else 0.0)
    return {
        "frames": frames,
        "captions": captions,
        "moments": _named(shares, captions),
    }


def _named(shares: Sequence[float], captions: Sequence[str]) -> list[Moment]:
    """Bare ground, the frame with nearest to half of the cold, and the end.

    Parameters
    ----------
    shares
        Of its cold at the end that a place has on average, 0 to 1, by frame.
    captions
        Time of each frame in words.
    """
    last = len(shares) - 1
    half = int(np.argmin(np.abs(np.asarray(shares) - 0.5)))
    # Where all of it has come by then, that is said.
    kinds = {half: "half_of_cold"} | {0: "no_cold_yet", last: "all_of_cold"}
    return [
        {"frame": at, "said": names.started(phrase(kind, moment=captions[at]))}
        for at, kind in sorted(kinds.items())
    ]


def _moments(night: Night) -> Sequence[tuple[float, npt.NDArray[np.floating]]]:
    """Hours after sunset and depths: bare ground, evenly chosen frames, and the end."""
    end_m = night.depth_m.values
    before = [at for at, hour in enumerate(night.frames_h) if hour < night.hours]
    count = min(len(before), MOST_FRAMES - 2)
    chosen = np.linspace(0, len(before) - 1, count).round().astype(int)
    return [
        (0.0, np.where(np.isnan(end_m), np.nan, 0.0)),
        *((night.frames_h[before[at]], night.frames_m[before[at]]) for at in chosen),
        (night.hours, end_m),
    ]


def _root(
    night: Night, depth_m: npt.NDArray[np.floating], shown: Raster
) -> npt.NDArray[np.float64]:
    """Root of a depth of air on the cells of the still picture, as the law has it."""
    coarse = night.depths_m.with_values(depth_m.astype(np.float64))
    depth = coarse.carried_on().read_on(shown)
    return np.asarray(np.sqrt(np.maximum(depth, 0.0)))
