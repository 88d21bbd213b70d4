"""What the files of a plan are for, and words within them."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import later

# By file or folder, as `show.files.FILES` has them.
WHAT_FOR = texts(__name__, "what_for")
USED_AT = texts(__name__, "used_at")
TITLE = later("{site}: the plan")
TO_SEND = later("To send")
ABOUT_MAILED = later(
    "{file} holds what is for the phone, the shed and the shop in one file. On an iPhone "
    "save the map first and open it in a browser: a preview shows a still picture only."
)
# Folders within plan.kml, by layer.
KML_FOLDERS = texts(__name__, "kml_folders")
# What is walked to with stakes.gpx, and its name there.
WAYPOINTS = texts(__name__, "waypoints")
# Legend of the beds in a GIS program.
GROUP_TITLES = texts(__name__, "group_titles")
