"""Facts -> people: the map, printed sheets, files and lines for the terminal.

Plans come in, bytes and sentences go out. Words, units and languages are in `text`.
"""
