"""What a cover over a bed is worth: warmth by kind of night, and light under a curve.

Night gains are plan values, on purpose low: a grower who trusts them should be
surprised by a warm bed and not by a dead one. None of them is a promise; thin fabric
and film can be worth nothing, or less, on the clearest nights, when warmth is wanted
most, and on windy nights no cover is worth much.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from layers import _optics

Array = npt.NDArray[np.float64]
Kind = Literal["none", "net", "fabric", "film", "shade cloth", "two covers"]


class Range(NamedTuple):
    """A value with the least and the most that is reasonable."""

    low: float
    central: float
    high: float

    @classmethod
    def only(cls, value: float) -> "Range":
        """A value that is taken as known."""
        return cls(value, value, value)


# ------------------------------------------------------------------ covers as sold
_GAINS_C = (-5.0, 10.0)  # no cover was ever seen to do more, either way
_WITHIN = {"light_share": (0.0, 1.0), "gain_c": _GAINS_C, "windy_gain_c": _GAINS_C}
_MIXED_SHARE = 0.2


@dataclass(frozen=True)
class Cover:
    """One cover, or two over each other, as a grower would ask for it.

    Attributes
    ----------
    name
        In the trade's words.
    kind
        What it is made of.
    light_share
        Part of the light that plants use that passes the flat, clean material, 0-1.
        What reaches the floor under a curve is less: see `floor_light_by_bearing`.
    gain_c
        By how much the air under it stays warmer than the air outside, at the same
        height, at the coldest moment of a clear calm night [°C]; negative is colder.
    windy_gain_c
        The same on a windy night.
    measured_height
        Height at which the gain was measured, as far as the sources tell.
    open_above_c
        Air temperature outside above which, in sun, it has to be opened or taken off
        [°C]; None where heat under it is no concern.
    source
        Where the figures come from.
    tag
        How well: "seen" in the work named, "from memory" of it, "common practice".

    Raises
    ------
    ValueError
        When a range is not in order, a share of light not within 0-1, or a gain not
        within -5 to 10 °C.
    """

    name: str
    kind: Kind
    light_share: Range
    gain_c: Range
    windy_gain_c: Range
    measured_height: str
    open_above_c: float | None
    source: str
    tag: Literal["seen", "from memory", "common practice"]

    def __post_init__(self) -> None:
        """Refuse ranges that are not ranges."""
        for field, (least, most) in _WITHIN.items():
            low, central, high = getattr(self, field)
            if not least <= low <= central <= high <= most:
                raise ValueError(
                    f"{field} of {self.name} must rise within {least:g} to {most:g}, got "
                    f"{low}, {central}, {high}"
                )

    @property
    def mixed_gain_c(self) -> Range:
        """Gain on nights that are neither still nor windy [°C].

        What clear sky and calm add to the gain of windy nights shrinks as differences
        between places do: a tenth to a quarter of them is left on mixed nights
        (loggers on three grounds), here a fifth.

        Examples
        --------
        >>> [round(gain, 2) for gain in COVERS["heavy_fabric"].mixed_gain_c]
        [0.6, 0.86, 1.2]
        """
        pairs = zip(self.windy_gain_c, self.gain_c, strict=True)
        return Range(
            *(windy + _MIXED_SHARE * (still - windy) for windy, still in pairs)
        )


def over(outer: Cover, inner: Cover, name: str) -> Cover:
    """One cover spread over another, with air between them.

    Gains of clear calm nights add, low to low and high to high, which is less than some
    trade pages claim for such pairs (9 °F and more); on windy nights the better one
    counts. What passes of the light multiplies. The pair is opened as soon as one of
    them would be.

    Parameters
    ----------
    outer, inner
        Film outside, fabric over the plants, say.
    name
        What the pair is called.

    Examples
    --------
    >>> pair = over(COVERS["clear_film"], COVERS["medium_fabric"], "medium under film")
    >>> pair.gain_c
    Range(low=1.1, central=2.7, high=4.5)
    """
    limits = [c.open_above_c for c in (outer, inner) if c.open_above_c is not None]
    light = zip(outer.light_share, inner.light_share, strict=True)
    gain = zip(outer.gain_c, inner.gain_c, strict=True)
    windy = zip(outer.windy_gain_c, inner.windy_gain_c, strict=True)
    return Cover(
        name=name,
        kind="two covers",
        light_share=Range(*(above * below for above, below in light)),
        gain_c=Range(*(above + below for above, below in gain)),
        windy_gain_c=Range(*map(max, windy)),
        measured_height=f"{outer.name}: {outer.measured_height}; "
        f"{inner.name}: {inner.measured_height}",
        open_above_c=min(limits, default=None),
        source=f"sum of gains, product of light; {outer.name}: {outer.source}; "
        f"{inner.name}: {inner.source}",
        tag="common practice",
    )


# Plan values, at the low end of the works named. FAO's range for fabric is 1 °C (thin)
# to 5 °C (thick). Against it stands a trial of spunbonded fabric and perforated film on
# melon in Oregon: mean minimum +1.4 to +1.8 °C in 1983, +0.2 to +0.4 °C in 1984, and
# single cool clear nights equal or up to 2 °F (1.1 °C) colder under the cover: half of
# that is their low end.
_OREGON_LOW_C = -0.5
_HEIGHT_NOT_STATED = "not stated in the works seen"
_OREGON_HEIGHT = "2.5 cm above the soil in the Oregon trial; else not stated"
_OREGON = "Oregon State University, row cover trials 1983-84"
# Windy and cloudy frosts: trials and bulletins credit about nothing (University of
# Georgia B1479, "hard to protect"); up to 0.5 °C is a choice.
_WINDY_GAIN_C = Range(0.0, 0.2, 0.5)
_FAO = "Snyder & de Melo-Abreu 2005, Frost Protection, FAO, vol. 1: 1 °C thin to 5 °C thick"
# Cool-season crops in sun: 60 °F, Penn State Extension Philadelphia 2020 (seen).
FABRIC_OFF_C = 15.6
# Solid film in sun: experienced growers' practice, no source; 60 °F is often printed.
FILM_OPEN_C = 8.0
# 90 °F outside: "partial removal", trade page on perforated film (seen). People read it
# as the air under the film, which is never cooler by day: the careful side.
SLITTED_OPEN_C = (90.0 - 32.0) / 1.8

_NONE = Cover(
    name="no cover",
    kind="none",
    light_share=Range.only(1.0),
    gain_c=Range.only(0.0),
    windy_gain_c=Range.only(0.0),
    measured_height="",
    open_above_c=None,
    source="by definition",
    tag="common practice",
)
_INSECT_NET = Cover(
    name="insect net",
    kind="net",
    light_share=Range(0.90, 0.92, 0.95),  # trade figures
    gain_c=Range.only(0.0),  # "minimal heat retention" under 17 g/m²
    windy_gain_c=Range.only(0.0),
    measured_height=_HEIGHT_NOT_STATED,
    open_above_c=None,
    source="Penn State Extension on covers under 17 g/m²; light: trade figures",
    tag="seen",
)
_LIGHT_FABRIC = Cover(
    name="light fabric (17-20 g/m²)",
    kind="fabric",
    light_share=Range.only(0.85),  # trade or extension page
    # 2-3 °F (1.1-1.7 °C) for 19 g/m²; FAO's thin: 1 °C; Oregon's mean of two years: 1 °C
    gain_c=Range(_OREGON_LOW_C, 1.0, 1.5),
    windy_gain_c=_WINDY_GAIN_C,
    measured_height=_OREGON_HEIGHT,
    open_above_c=FABRIC_OFF_C,
    source=f"Penn State Extension Philadelphia 2020, 19 g/m²; {_OREGON}; {_FAO}",
    tag="seen",
)
_MEDIUM_FABRIC = Cover(
    name="medium fabric (30-42 g/m²)",
    kind="fabric",
    light_share=Range(0.70, 0.72, 0.75),  # about 70 % at 42 g/m²
    gain_c=Range(1.1, 2.2, 3.0),  # 2-6 °F (1.1-3.3 °C) in spring for 17-42 g/m²
    windy_gain_c=_WINDY_GAIN_C,
    measured_height=_HEIGHT_NOT_STATED,
    open_above_c=FABRIC_OFF_C,
    source=f"extension pages, 17-42 g/m² in spring; {_FAO}",
    tag="seen",
)
_HEAVY_FABRIC = Cover(
    name="heavy fabric (50-68 g/m²)",
    kind="fabric",
    light_share=Range(0.45, 0.50, 0.60),  # "50 % or less"; marked loss over 59 g/m²
    gain_c=Range(3.0, 3.5, 4.0),  # "to 24 °F" (-4.4 °C), as printed for 50-68 g/m²
    windy_gain_c=_WINDY_GAIN_C,
    measured_height=_HEIGHT_NOT_STATED,
    open_above_c=FABRIC_OFF_C,
    source=f"trade and extension pages, 50-68 g/m²; {_FAO}",
    tag="seen",
)
_SLITTED_FILM = Cover(
    name="slitted or perforated clear film",
    kind="film",
    light_share=Range(0.80, 0.85, 0.90),  # trade figures
    gain_c=Range(_OREGON_LOW_C, 1.0, 2.0),  # 2-4 °F (1.1-2.2 °C) on trade pages
    windy_gain_c=_WINDY_GAIN_C,
    measured_height=_OREGON_HEIGHT,
    open_above_c=SLITTED_OPEN_C,
    source=f"trade page on perforated film 0.02 mm thick; {_OREGON}",
    tag="seen",
)
_CLEAR_FILM = Cover(
    name="clear film",
    kind="film",
    light_share=Range(0.85, 0.89, 0.92),  # 85-95 % visible; Fresnel gives 0.893
    # +1.3 °C in the mean of minima (Savage), less on clear nights (Guttormsen) and
    # sometimes below nothing (Sugiyama): the clear calm night gets the lower half.
    gain_c=Range(0.0, 0.5, 1.5),
    windy_gain_c=_WINDY_GAIN_C,
    measured_height="five heights in the tunnel (Savage)",
    open_above_c=FILM_OPEN_C,
    source="Savage 1980, Agrochemophysica 12:5; Sugiyama 1967, J. Jpn. Soc. Hort. Sci. "
    "36:186; Guttormsen 1972, J. Agric. Engng Res. 17:172",
    tag="seen",
)
_DOUBLE_FILM = Cover(
    name="double clear film",
    kind="film",
    light_share=Range(0.76, 0.79, 0.80),  # 0.89 squared; Fresnel gives 0.803
    # No measurement seen: at worst nothing, as one film, and at most twice as much.
    gain_c=Range(0.0, 1.0, 3.0),
    windy_gain_c=_WINDY_GAIN_C,
    measured_height=_HEIGHT_NOT_STATED,
    open_above_c=FILM_OPEN_C,
    source="no measurement seen; up to twice one film",
    tag="common practice",
)


def _shade_cloth(kept_percent: int) -> Cover:
    return Cover(
        name=f"shade cloth {kept_percent} %",
        kind="shade cloth",
        light_share=Range.only(1 - kept_percent / 100),  # what it is sold as
        gain_c=Range(0.0, 0.0, 1.0),  # no measurement seen; bought for shade
        windy_gain_c=Range.only(0.0),
        measured_height=_HEIGHT_NOT_STATED,
        open_above_c=None,
        source="no measurement seen; light as sold",
        tag="common practice",
    )


COVERS: Mapping[str, Cover] = MappingProxyType(
    {
        "none": _NONE,
        "insect_net": _INSECT_NET,
        "light_fabric": _LIGHT_FABRIC,
        "medium_fabric": _MEDIUM_FABRIC,
        "heavy_fabric": _HEAVY_FABRIC,
        "slitted_film": _SLITTED_FILM,
        "clear_film": _CLEAR_FILM,
        "double_film": _DOUBLE_FILM,
        "fabric_under_film": over(
            _CLEAR_FILM, _LIGHT_FABRIC, "light fabric under clear film"
        ),
        "shade_30": _shade_cloth(30),
        "shade_40": _shade_cloth(40),
        "shade_50": _shade_cloth(50),
    }
)


# ------------------------------------------------------------------ light through film
@dataclass(frozen=True)
class Film:
    """One or two clear films over each other, with air between them.

    Attributes
    ----------
    films
        1 or 2.
    index
        Index of refraction; polyethylene is near 1.51 (common figure, from memory).
    clarity
        Part of the light that crosses one film straight without being absorbed, 0-1
        (0.97: common figure, from memory).

    Raises
    ------
    ValueError
        When there are not one or two, or index or clarity cannot be.
    """

    films: int = 1
    index: float = 1.51
    clarity: float = 0.97

    def __post_init__(self) -> None:
        """Refuse what is no film."""
        if self.films not in (1, 2):
            raise ValueError(f"films must be 1 or 2, got {self.films}")
        if not (np.isfinite(self.index) and self.index > 1):
            raise ValueError(f"index must be over 1, got {self.index}")
        if not 0 < self.clarity <= 1:
            raise ValueError(f"clarity must lie in 0 to 1, got {self.clarity}")


class LightParts(NamedTuple):
    """What becomes of light that falls on film; the three add up to 1."""

    through: Array
    back: Array
    absorbed: Array


def film_parts(incidence_deg: npt.ArrayLike, film: Film) -> LightParts:
    """Parts of unpolarised light that pass, are thrown back and are absorbed.

    Parameters
    ----------
    incidence_deg
        Angle between the light and the film's normal, 0-90, any shape; NaN stays NaN.
    film
        One or two clear films.

    Raises
    ------
    ValueError
        When an angle is not within 0 to 90.

    Notes
    -----
    Fresnel's formulas and all reflections within and between the films, summed up for
    each polarisation and then averaged (Duffie & Beckman, Solar Engineering of Thermal
    Processes, chapter 5; from memory). Their shortened product of a reflecting and an
    absorbing part gives up to 0.004 more for one film and 0.01 for two. Thickness is long against the
    wave: no interference.

    Examples
    --------
    >>> through, back, absorbed = film_parts(0.0, Film())
    >>> float(through), float(through + back + absorbed)
    (0.893, 1.0)
    """
    angle = np.asarray(incidence_deg, dtype=np.float64)
    if ((angle < 0) | (angle > 90)).any():
        raise ValueError("incidence_deg must lie in 0 to 90")
    cosine = np.cos(np.radians(angle))
    inside = np.sqrt(1 - (1 - cosine**2) / film.index**2)
    clear = film.clarity ** (1 / inside)
    square = ((cosine - film.index * inside) / (cosine + film.index * inside)) ** 2
    parallel = ((inside - film.index * cosine) / (inside + film.index * cosine)) ** 2
    each = [_parts(r, clear, film.films) for r in (square, parallel)]
    return LightParts(
        *(np.asarray((one + other) / 2) for one, other in zip(*each, strict=True))
    )


def _parts(mirrored: Array, clear: Array, films: int) -> LightParts:
    """Parts for one polarisation, `mirrored` at a surface and `clear` on the way."""
    # Grazing light is thrown back whole, and nothing is left to go to and fro.
    bounce = mirrored * clear
    left = 1 - bounce
    to_and_fro = np.divide(1.0, left, out=np.zeros_like(left), where=left > 0)
    through = clear * (1 - mirrored) ** 2 * to_and_fro / (1 + bounce)
    back = mirrored * (1 + clear * through)
    absorbed = (1 - mirrored) * (1 - clear) * to_and_fro
    if films == 1:
        return LightParts(through, back, absorbed)
    leaving = 1 - back**2
    between = np.divide(1.0, leaving, out=np.zeros_like(leaving), where=leaving > 0)
    return LightParts(
        through=through**2 * between,
        back=back * (1 + through**2 * between),
        absorbed=absorbed * (1 + through * (1 + back) * between),
    )


_COSINES = np.linspace(0.0, 1.0, 1025)


def _table(film: Film) -> Array:
    """What passes, by cosine of incidence."""
    return film_parts(np.degrees(np.arccos(_COSINES)), film).through


# ------------------------------------------------------------------ under a curve
@dataclass(frozen=True)
class Vault:
    """A cover bent over the floor as the upper half of an ellipse, without ends."""

    width_m: float
    height_m: float

    def __post_init__(self) -> None:
        """Raise ValueError unless both are positive numbers."""
        for name in ("width_m", "height_m"):
            value = getattr(self, name)
            if not (np.isfinite(value) and value > 0):
                raise ValueError(f"{name} must be positive, got {value}")

    @property
    def rise(self) -> float:
        """Height over half the width; light depends on nothing else of the shape."""
        return 2 * self.height_m / self.width_m


def beam_share(
    altitude_deg: npt.ArrayLike,
    azimuth_deg: npt.ArrayLike,
    bearing_deg: npt.ArrayLike,
    vault: Vault,
    film: Film,
) -> Array:
    """Part of the sun's beam on open level ground that reaches the mean of the floor.

    Parameters
    ----------
    altitude_deg, azimuth_deg
        Where the sun stands; arrays are broadcast against each other and the bearing.
    bearing_deg
        Of the ridge, clockwise from the same north as the azimuth.
    vault
        Section of the tunnel; the larger its height for its width, the steeper the
        film.
    film
        The film over it.

    Returns
    -------
    Array
        Clean film without a frame, 0-1; NaN where the sun is not above level or an
        input is missing.

    Notes
    -----
    Optics of rays in the cross-section of an endless tunnel, direction in three
    dimensions. Followed is the first way through the film, which a floor point shares
    with no second one. Left out: what the film throws back on the inside and what the
    ground throws up, light through the ends, drops and dirt that scatter, and leaves.

    Examples
    --------
    >>> low_sun_square_and_along = beam_share(
    ...     10.0, 180.0, [90.0, 0.0], Vault(7, 3), Film()
    ... )
    >>> bool(low_sun_square_and_along[0] > low_sun_square_and_along[1] + 0.3)
    True
    """
    across, up = _direction(altitude_deg, azimuth_deg, bearing_deg)
    known = np.isfinite(across) & (up > 0)
    share = np.full(across.shape, np.nan)
    share[known] = _optics.mean_shares(
        across[known], up[known], vault.rise, _table(film), _optics.floor_places()
    )
    return share


def sky_share(vault: Vault, film: Film) -> float:
    """Part of the light of an even sky that reaches the mean of the floor, 0-1.

    The same for every bearing. Assumes an open sky; see `beam_share` for what is left
    out.

    Parameters
    ----------
    vault
        Section of the tunnel.
    film
        The film over it.

    Examples
    --------
    A film that hardly bends light and takes none lets all of it through:

    >>> round(sky_share(Vault(4.5, 2.4), Film(1, 1.0001, 1.0)), 3)
    1.0
    """
    _, part = _optics.floor_places()
    sky = _sky_across(vault, _table(film)[:, np.newaxis])
    return float((sky @ part)[0])


_SKY_RINGS, _SKY_SECTORS = 24, 48  # more change the share by less than 0.0001


def _sky_across(vault: Vault, tables: Array) -> Array:
    """Part of the light of an even sky on each place of the floor, (films, places)."""
    # Rings of equal light on level ground: equal steps of the squared upward part.
    up = np.sqrt((np.arange(_SKY_RINGS) + 0.5) / _SKY_RINGS)
    turn = (np.arange(_SKY_SECTORS) + 0.5) * 2 * np.pi / _SKY_SECTORS
    across = np.outer(np.sqrt(1 - up**2), np.sin(turn)).ravel()
    towards = np.stack([across, np.repeat(up, _SKY_SECTORS)])
    each = np.full(across.size, 1 / across.size)
    places, _ = _optics.floor_places()
    return np.asarray(_optics.on_floor(towards, each, vault.rise, tables, places))


def _direction(
    altitude_deg: npt.ArrayLike, azimuth_deg: npt.ArrayLike, bearing_deg: npt.ArrayLike
) -> tuple[Array, Array]:
    """Parts of the unit vector towards the sun: square to the ridge, and up."""
    altitude, turn = np.broadcast_arrays(
        np.radians(np.asarray(altitude_deg, dtype=np.float64)),
        np.radians(np.subtract(azimuth_deg, bearing_deg)),
    )
    return np.cos(altitude) * np.sin(turn), np.sin(altitude)


# ------------------------------------------------------------------ season and bearing
FRAME_LOSS = Range(0.05, 0.08, 0.10)  # common practice, no source
DIRT_LOSS = Range(0.05, 0.10, 0.20)  # dirt and drops; common practice, no source
INDEX = Range(1.49, 1.51, 1.53)  # from memory
_BED_REACH = 0.95  # of the half width; beyond it the cover's foot stands, and no bed


@dataclass(frozen=True)
class FloorLight:
    """Light on a tunnel's floor over a season, by bearing of the ridge.

    Attributes
    ----------
    bearing_deg
        (bearings,)
    low_percent, central_percent, high_percent
        (bearings,): of the light on the open ground there, with all assumptions at
        their dark, usual and bright end. An assumption holds for all bearings at once:
        compare bearings within one of the three, not across them.
    evenness
        (bearings,): darkest over brightest place across the middle 95 % of the floor,
        without frame shadows, 0-1.
    """

    bearing_deg: Array
    low_percent: Array
    central_percent: Array
    high_percent: Array
    evenness: Array

    @property
    def difference_points(self) -> float:
        """Best less worst bearing, per cent of open light, usual assumptions."""
        return float(np.ptp(self.central_percent))


@dataclass(frozen=True)
class OpenLight:
    """Light on open level ground over a season, by where it comes from.

    Attributes
    ----------
    altitude_deg, azimuth_deg
        (positions,): where the sun stands.
    beam
        (positions,): light of the beam on level ground from there over the season, in
        any unit; 0 behind the skyline. Light from around the sun belongs to it.
    sky
        Light of the rest of the sky, same unit.

    Raises
    ------
    ValueError
        When shapes differ, a number is missing or negative, a beam comes from a sun
        that is not up, or there is no light at all.
    """

    altitude_deg: Array
    azimuth_deg: Array
    beam: Array
    sky: float

    def __post_init__(self) -> None:
        """Refuse light that cannot be."""
        shapes = {np.shape(a) for a in (self.altitude_deg, self.azimuth_deg, self.beam)}
        if len(shapes) > 1 or np.ndim(self.beam) != 1:
            raise ValueError(
                f"positions and beam must be lists of one length: {shapes}"
            )
        if not ((self.beam >= 0).all() and np.isfinite(self.total) and self.sky >= 0):
            raise ValueError("beam and sky must be known, and 0 or more")
        lit = self.beam > 0
        if not (self.altitude_deg[lit] > 0).all():
            raise ValueError("beam must be 0 where the sun is not above level")
        if not np.isfinite(self.azimuth_deg[lit]).all():
            raise ValueError("azimuth_deg must be known where there is beam")
        if self.total <= 0:
            raise ValueError("a season needs light, got none")

    @property
    def total(self) -> float:
        """Beam and sky light together."""
        return float(self.beam.sum() + self.sky)


def floor_light_by_bearing(
    light: OpenLight, bearing_deg: npt.ArrayLike, vault: Vault, film: Film
) -> FloorLight:
    """Light on the mean floor of a tunnel, for each bearing its ridge could have.

    Skyline and cloud are in the light that is given. Sky light is taken to come evenly
    from an open sky. Frame and dirt take their losses one after the other, from beam
    and sky alike. For the range, losses and index of refraction (`FRAME_LOSS`,
    `DIRT_LOSS`, `INDEX`, as far from the film's own as from the usual one) stand at
    their ends together.

    Parameters
    ----------
    light
        Of the season of use: every fifth day in steps of ten minutes is plenty.
    bearing_deg
        (bearings,): clockwise from the same north as the sun's azimuth.
    vault
        Section of the tunnel.
    film
        The film over it.

    Returns
    -------
    FloorLight
        In per cent; times `light.total` / 100 it is light in the unit that was given.

    Raises
    ------
    ValueError
        When a bearing is missing, or the film's index is too near 1 for the range.

    Examples
    --------
    >>> noon = OpenLight(np.array([20.0]), np.array([180.0]), np.array([4.0]), sky=6.0)
    >>> found = floor_light_by_bearing(noon, [0.0, 90.0], Vault(7.3, 3.0), Film())
    >>> found.central_percent.round().tolist()
    [62.0, 72.0]
    """
    bearings = np.atleast_1d(np.asarray(bearing_deg, dtype=np.float64))
    if bearings.ndim != 1 or not np.isfinite(bearings).all():
        raise ValueError(f"bearing_deg must be a list of numbers, got {bearings}")
    shifts = [index - INDEX.central for index in reversed(INDEX)]
    films = [replace(film, index=film.index + shift) for shift in shifts]
    floor = _floor_light(light, bearings, vault, films)
    places, part = _optics.floor_places()
    # From the darkest assumptions to the brightest, as the films are.
    frame, dirt = np.array(FRAME_LOSS[::-1]), np.array(DIRT_LOSS[::-1])
    kept_percent = 100 / light.total * (1 - frame) * (1 - dirt)
    low, central, high = kept_percent[:, np.newaxis] * (floor @ part)
    usual = floor[1][:, np.abs(places) <= _BED_REACH]
    return FloorLight(
        bearing_deg=bearings,
        low_percent=low,
        central_percent=central,
        high_percent=high,
        evenness=usual.min(axis=1) / usual.max(axis=1),
    )


def _floor_light(
    light: OpenLight, bearings: Array, vault: Vault, films: list[Film]
) -> Array:
    """Light on each place of the floor behind clean film, (films, bearings, places)."""
    lit = light.beam > 0
    altitude, azimuth = light.altitude_deg[lit], light.azimuth_deg[lit]
    weight = np.ascontiguousarray(light.beam[lit], dtype=np.float64)
    places, _ = _optics.floor_places()
    tables = np.stack([_table(film) for film in films], axis=1)
    sky = light.sky * _sky_across(vault, tables)
    floor = np.empty((len(films), bearings.size, places.size))
    for k, bearing in enumerate(bearings):
        towards = np.stack(_direction(altitude, azimuth, bearing))
        floor[:, k] = sky + _optics.on_floor(
            towards, weight, vault.rise, tables, places
        )
    return floor
