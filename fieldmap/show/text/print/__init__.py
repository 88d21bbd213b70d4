"""The words of the printed sheets, a module for each."""

from fieldmap.show.text.print import crew, dawn_walk, landowner, tonight, tunnel_door

__all__ = ["crew", "dawn_walk", "landowner", "tonight", "tunnel_door"]
