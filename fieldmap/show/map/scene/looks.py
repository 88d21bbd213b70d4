"""Colours of every look of a page's drawing."""

from typing import Any

from fieldmap.show.layer_styles import LOOKS, RAMPS, sampled


def looks() -> dict[str, Any]:
    """Colours of every look, and even samples of its ramps."""
    return {
        look: {
            "colours": style._asdict(),
            "ramps": {name: sampled(name, look) for name in RAMPS},
        }
        for look, style in LOOKS.items()
    }
