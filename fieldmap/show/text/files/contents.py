"""What the files of a plan are for, and words within them."""

from fieldmap.show.text.catalogue import texts

# By file or folder, as `show.files.overview.FILES` has them.
WHAT_FOR = texts(__name__, "what_for")
USED_AT = texts(__name__, "used_at")
# The page that lists them.
OVERVIEW = texts(__name__, "overview")
# Folders within plan.kml, by layer.
KML_FOLDERS = texts(__name__, "kml_folders")
# Legend of the beds in a GIS program.
GROUP_TITLES = texts(__name__, "group_titles")
