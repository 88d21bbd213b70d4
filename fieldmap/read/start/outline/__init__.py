"""Outlines from walks, drawings and corners."""
