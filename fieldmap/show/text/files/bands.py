"""What is in each band of the layers: GIS programs find a band by its description."""

from collections.abc import Sequence

from layers import sunlight

OFFSETS = ("low (coldest plausible)", "central", "high")
LAYERS = {
    "slope_deg": "angle above level",
    "aspect_deg": "downhill bearing, clockwise from true north; missing where it slopes less than 0.5 degrees",
    "sky_view": "visible share of the sky",
    "sun_mj_m2_day": "{sky} light",
    "sun_beam_mj_m2_day": "{sky} beam",
    "sun_sky_mj_m2_day": "{sky} sky light",
    "sun_reflected_mj_m2_day": "{sky} light from the ground around",
    "sun_hours": "hours of direct sun on a clear day",
    "sun_morning_share": "part of the beam before solar noon",
    "light_integral_mol_m2_day": "{sky} daily light integral, give or take {share:.0f} %",
    "cold_air_m": "depth of cold air on a clear calm night",
    "offset_c": "offset on a clear calm night",
    "hollow_depth_m": "depth of hollows under their spill",
    "cold_pool_class": "by shape: 1 collects cold air, 0 no signal, -1 does not",
    "wetness_index": "how much rain water gathers and how slowly it runs off, ln m",
    "wind_share": "share of the open wind left (Brandle & Finch; hills left out)",
}


def descriptions(layer: str, bands: Sequence[str], sky: str) -> list[str]:
    """The description of each band of a layer; of its one band where none is named.

    Parameters
    ----------
    layer
        Key of `LAYERS`, which is the name of its file without ending.
    bands
        What sets each band apart, such as a month; empty for a layer of one band.
    sky
        Whose light it is: of the typical year or of the clear sky, in English. Only
        layers of light name it.

    Examples
    --------
    >>> descriptions("sun_mj_m2_day", ("January", "February"), "clear sky")
    ['clear sky light, January', 'clear sky light, February']
    """
    share = 100 * sunlight.LIGHT_INTEGRAL_BAND
    said = LAYERS[layer].format(sky=sky, share=share)
    return [f"{said}, {band}" for band in bands] or [said]
