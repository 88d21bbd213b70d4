"""Beds, crops and a weather record -> first and last dates at a risk, as ranges."""
