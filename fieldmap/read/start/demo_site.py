"""The invented farm, as it comes with the program, to a folder."""

from importlib import resources
from pathlib import Path

from fieldmap.errors import SiteError, problem
from fieldmap.read.start import folder as site_folder

# What a site is made of; scripts, pictures and plans of the demo stay away.
FILES = (
    *("site.toml", "plots.geojson", "elevation.tif", "weather.csv", "ridge.csv"),
    *("surroundings.geojson", "beds.geojson", "marks.geojson", "happened.csv"),
    *("last_year.csv", "thermometers.csv", "observed.toml", "past_beds.geojson"),
)


def write(folder: Path) -> None:
    """The demo's files into a new folder.

    Raises
    ------
    SiteError
        When something lies there already, or the demo did not come with the program.
    """
    site_folder.check(folder)
    if folder.is_dir() and any(folder.iterdir()):
        raise SiteError(
            problem("{folder} is not empty; name a new folder.", folder=folder)
        )
    packaged = resources.files("fieldmap").joinpath("demo_site")
    checkout = Path(str(resources.files("fieldmap"))).parent / "demo_site"
    source = packaged if packaged.is_dir() else checkout
    if not source.joinpath("site.toml").is_file():
        raise SiteError(problem("the demo site did not come with this installation"))
    site_folder.write(
        folder, {name: source.joinpath(name).read_bytes() for name in FILES}
    )
