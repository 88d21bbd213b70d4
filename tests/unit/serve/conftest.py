"""A site whose page is asked as a browser would."""

from open_page import folder, tab

__all__ = ["folder", "tab"]
