"""How hilly the land around the plots is: whether they lie in a valley."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster, grown
from fieldmap.model.site import Site
from layers import coldness, nights

Flags = npt.NDArray[np.bool_]

# Of the land around, that must be known to say that there is no valley (a choice).
KNOWN_SHARE = 0.9


@dataclass(frozen=True)
class Relief:
    """Heights within `nights.VALLEY_WITHIN_M` of the plots' middle.

    Attributes
    ----------
    height_m
        From the lowest to the highest ground that one of the elevations knows there:
        two of them may differ by a step that is no slope.
    is_all_known
        Whether the known heights reach so far on all sides.
    """

    height_m: float
    is_all_known: bool

    @property
    def mixed_share(self) -> Estimate:
        """Share of a still night's offset that is left on mixed nights here."""
        is_all_known = self.is_all_known
        return Estimate(*nights.mixed_share(self.height_m, is_all_known=is_all_known))

    def remarks(self) -> list[Fact]:
        """What is taken of mixed nights, and what of a valley is not seen."""
        around = {"distance_m": nights.VALLEY_WITHIN_M}
        if self.height_m > nights.VALLEY_RELIEF_M:
            return [
                Fact("dates_in_valley", height_m=self.height_m, **around),
                Fact("valley_beyond_limits", degrees_c=coldness.WARMEST_C),
            ]
        return [] if self.is_all_known else [Fact("dates_valley_unknown", **around)]


def around_plots(site: Site) -> Relief:
    """Relief around the plots of a site, by its finest and its wide heights."""
    middle = shapely.union_all(site.plots.geometry).centroid
    rasters = [site.elevation]
    if site.wide_elevation is not None:
        rasters.append(site.wide_elevation)
    near = [_near(raster, middle.x, middle.y) for raster in rasters]
    return Relief(
        max(_relief_m(raster.values[inside]) for raster, inside in near),
        any(_reaches(raster, inside) for raster, inside in near),
    )


def on_mixed_night(offset_c: Estimate, mixed_share: Estimate) -> Estimate:
    """What is left of a still night's offset on a mixed one.

    Examples
    --------
    >>> on_mixed_night(Estimate(-2.0, -1.0, 1.0), Estimate(0.25, 0.5, 0.75))
    Estimate(low=-1.5, central=-0.5, high=0.75)
    """
    return Estimate(
        min(share * offset_c.low for share in mixed_share),
        mixed_share.central * offset_c.central,
        max(share * offset_c.high for share in mixed_share),
    )


def _relief_m(heights_m: npt.NDArray[np.float64]) -> float:
    known_m = heights_m[np.isfinite(heights_m)]
    return float(np.ptp(known_m)) if known_m.size else 0.0


def _near(raster: Raster, east_m: float, north_m: float) -> tuple[Raster, Flags]:
    """The cells of a raster around a place, and which of them lie near enough."""
    reach_m = nights.VALLEY_WITHIN_M
    place = raster.clip(
        raster.window(grown((east_m, north_m, east_m, north_m), reach_m))
    )
    rows, cols = place.shape
    east, north = place.middle_of(np.arange(rows), np.arange(cols))
    over_m2 = (north[:, np.newaxis] - north_m) ** 2 + (east - east_m) ** 2
    return place, over_m2 <= reach_m**2


def _reaches(raster: Raster, inside: Flags) -> bool:
    """Whether a raster holds nearly all of the circle around a place."""
    known = inside & np.isfinite(raster.values)
    area_m2 = float(known.sum()) * raster.cell_size_m**2
    return area_m2 >= KNOWN_SHARE * np.pi * nights.VALLEY_WITHIN_M**2
