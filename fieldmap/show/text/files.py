"""What the files of a plan are for, and words within them."""

from __future__ import annotations

from fieldmap.show.text.language import later

# By file or folder, as `show.files.FILES` has them.
WHAT_FOR = {
    "map.html": later("the map; opens with no signal"),
    "dates.ics": later("the work of the year, for the phone's calendar"),
    "stakes.gpx": later("corners to walk to; peg by tape, held level"),
    "plan.kml": later("outlines for a map app"),
    "sheets/landowner.pdf": later("two pages to go through with the landowner"),
    "sheets/crew.pdf": later("for the crew, block by block"),
    "sheets/tunnel_door.pdf": later("hangs on the tunnel's door"),
    "sheets/tonight.pdf": later("hangs in the shed: what to cover tonight"),
    "sheets/dawn_walk.pdf": later("a lesson before sunrise"),
    "materials.xlsx": later("what to buy and cut"),
    "materials.csv": later("the same, as plain text"),
    "stakes.csv": later("every peg"),
    "what_where.csv": later("what grows where, from week to week"),
    "beds.csv": later("all that is known of each bed"),
    "dates.csv": later("first and last dates of every bed, crop and cover"),
    "tunnel_choices.csv": later("places for tunnels that were weighed"),
    "plan.gpkg": later("layers for a GIS program, with their look"),
    "plan.json": later("the whole plan for other programs"),
    "layers/": later("maps of single measures, for a GIS program"),
}
USED_AT = {
    "phone": later("For the phone"),
    "shop": later("For the shed and the shop"),
    "office": later("For the office"),
}
TITLE = later("{site}: the plan")
TO_SEND = later("To send")
ABOUT_MAILED = later(
    "{file} holds what is for the phone, the shed and the shop in one file. On an iPhone "
    "save the map first and open it in a browser: a preview shows a still picture only."
)
# Folders within plan.kml, by layer.
KML_FOLDERS = {
    "plots": later("Plots"),
    "beds": later("Beds"),
    "tunnels": later("Walk-in tunnels"),
    "cold_pockets": later("Cold pockets"),
}
# What is walked to with stakes.gpx, and its name there.
WAYPOINTS = {
    "tape": later("{of} tape {number}"),
    "corner": later("{of} corner {number}"),
    "end": later("{of} end {number}"),
}
# Heads of the workbook, and values that are read there.
MATERIALS_HEADS = (
    *(later("item"), later("what"), later("need"), later("on_hand"), later("buy")),
    *(later("unit"), later("rough"), later("cost"), later("about"), later("pieces")),
    *(later("bed"), later("cover"), later("hoops"), later("spacing_m")),
    *(later("cut_m"), later("leg_m"), later("cover_width_m"), later("joins")),
    *(later("cover_length_m"), later("roll_width_m"), later("waste_m2")),
    *(later("weights"), later("weight_gap_m"), later("lets_go_m_s")),
)
# Legend of the beds in a GIS program.
GROUP_TITLES = {
    "first": later("first"),
    "no real difference": later("no real difference"),
    "in between": later("in between"),
    "last": later("last"),
}
