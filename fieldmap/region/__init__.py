"""Many parcels on one elevation, tile by tile.

`layers.window` reads any layer of a finished region; `run.make_layers` makes them. A
task is a pure function over a tile and its halo that writes one file whole, with the key
of all that went into it; what computes tasks, and where, is `cluster`.
"""
