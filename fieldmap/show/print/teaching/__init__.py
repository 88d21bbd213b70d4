"""Sheets for learners: how to build a low tunnel, and walks over this ground."""
