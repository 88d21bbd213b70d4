"""Plots and ground -> rows of beds: their bearing, blocks, names and outlines."""
