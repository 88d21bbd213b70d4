"""A farm of two small plots with a hedge, a log and thermometers, planned by the command.

For tests of commands whose answer on the demo's ground others look at.
"""

import geopandas as gpd
import pandas as pd
from site_folder import SiteFolder
from typer.testing import CliRunner

from fieldmap.cli import app

TODAY = "2026-01-01"
CHOICES = """
name = "Small Farm"

[[tunnels]]
length_m = 8.0
width_m = 4.0
height_m = 2.2

[[crops]]
name = "spinach"

[[covers]]
kind = "light_fabric"
width_m = 2.2
length_m = 40.0

[[what_if]]
name = "No hedge"
take_away = ["Hedge"]
"""
HEDGE = {"name": "Hedge", "height_m": 3.0, "porosity": 0.3, "clear_stem_m": 0.0}


def plan_small_farm(folder):
    """The farm in `folder/demo_site`, the name that all guides use, with its plan.

    What the command said lies beside it, in `stdout` and `stderr`.
    """
    path = folder / "demo_site"
    path.mkdir()
    there = SiteFolder(path).plain()
    there.toml(CHOICES)
    there.plots([there.box(290, 290, 312, 310), there.box(290, 320, 312, 335)])
    hedge = there.box(280, 282, 330, 284)
    there.surroundings(("hedge", hedge, HEDGE | {"leaf": "deciduous"}))
    days = there.days(start="2010-01-01", end="2025-12-31")
    # Days of great and of small range, so that there are still nights and others.
    swing = pd.Series(range(len(days))) % 3
    days["tmax_c"] = (days["tmax_c"] + 3.0 * swing).round(1)
    there.weather(days)
    _hang(path, there, days)
    log = "date,bed,what,crop\n2025-05-10,A1,planted,spinach\n"
    (path / "happened.csv").write_text(log + "2025-06-20,A1,held,spinach\n")
    result = CliRunner().invoke(app, ["plan", str(path), "--today", TODAY])
    assert result.exit_code == 0, result.output
    for said in ("stdout", "stderr"):
        (folder / said).write_text(getattr(result, said), encoding="utf-8")


def _hang(path, there, days):
    """One thermometer on each plot for a spring, the lower one a degree colder."""
    spring = days[days["date"].str.startswith("2025-0")].iloc[90:150]
    ends = there.box(300, 300, 300.1, 300.1), there.box(300, 330, 300.1, 330.1)
    places = gpd.GeoSeries([end.centroid for end in ends], crs=there.crs).to_crs(4326)
    lines = ["place,longitude,latitude,height_m,shield,date,tmin_c"]
    for name, place, off_c in zip(("Low", "High"), places, (-1.0, 0.0), strict=True):
        lines += [
            f"{name},{place.x:.6f},{place.y:.6f},1.5,yes,{day},{low_c + off_c:.1f}"
            for day, low_c in zip(spring["date"], spring["tmin_c"], strict=True)
        ]
    (path / "thermometers.csv").write_text("\n".join(lines) + "\n")
