"""Pegging sheets: the drawing of a field, its steps, knotted lines and gauge stick."""
