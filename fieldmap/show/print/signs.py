"""Small drawings that stand beside cautions: our own, black on white, for any printer."""

from __future__ import annotations

_FRAME = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 60">'
    '<g fill="none" stroke="#000" stroke-width="2.4" stroke-linecap="round" '
    'stroke-linejoin="round">{}</g></svg>'
)
_TUNNEL = '<path d="M10 50 V34 A20 20 0 0 1 50 34 V50 Z"/>'
_GROUND = '<path d="M3 50 H57"/>'
_CROSSED = '<path d="M6 56 L54 6" stroke-width="4"/>'


def _sign(*strokes: str) -> str:
    return _FRAME.format("".join(strokes))


WIRES = _sign(
    '<path d="M3 9 Q30 17 57 9"/><path d="M3 15 Q30 23 57 15"/>',
    _GROUND,
    '<path d="M17 50 L40 24" stroke-width="3.4"/>',  # a pipe that is lifted
    '<path d="M46 8 L41 17 H48 L42 27" stroke-width="2.8"/>',
)
BURIED = _sign(
    '<path d="M3 26 H57"/>',
    '<path d="M30 4 V34" stroke-width="3.4"/><path d="M24 4 H36"/>',
    '<path d="M3 44 H57" stroke-dasharray="5 4"/>',
    '<circle cx="30" cy="44" r="6"/><path d="M27 55 H33"/>',
)
STAKES = _sign(
    _GROUND,
    '<path d="M20 50 V22 M42 50 V22" stroke-width="3.4"/>',
    '<path d="M15 22 A5 5 0 0 1 25 22 Z M37 22 A5 5 0 0 1 47 22 Z" fill="#000"/>',
)
EYES = _sign(
    '<circle cx="19" cy="30" r="10"/><circle cx="41" cy="30" r="10"/>',
    '<path d="M29 28 Q30 26 31 28 M9 27 L3 22 M51 27 L57 22"/>',
)
HEAT = _sign(
    _GROUND,
    _TUNNEL,
    '<path d="M27 44 V28 A3 3 0 0 1 33 28 V44" stroke-width="2"/>'
    '<circle cx="30" cy="45" r="4.5" fill="#000"/>',
    '<circle cx="50" cy="9" r="5"/><path d="M50 1 V0 M42 9 H40 M44 3 L43 2 M44 15 L42 17"/>',
)
FUMES = _sign(
    _GROUND,
    _TUNNEL,
    '<rect x="22" y="38" width="16" height="12"/>',
    '<path d="M26 34 q-3 -4 0 -7 M34 34 q-3 -4 0 -7"/>',
    _CROSSED,
)
WIND = _sign(
    _GROUND,
    '<path d="M18 50 V36 A16 16 0 0 1 50 36 V50"/>',
    '<path d="M18 50 L8 46 V32 L18 36"/>',  # a door left open
    '<path d="M2 10 H30 q6 0 6 -4 M2 18 H42 q7 0 6 5 M2 26 H12"/>',
)
SNOW = _sign(
    _GROUND,
    _TUNNEL,
    '<path d="M10 31 A20 20 0 0 1 50 31 A24 26 0 0 0 10 31 Z" fill="#000"/>',
    '<path d="M8 6 V14 M4 10 H12 M52 6 V14 M48 10 H56 M30 2 V8 M27 5 H33"/>',
    '<path d="M24 50 l12 -12 M36 50 l-12 -12" stroke-width="3.4"/>',
)
LEVEL_TAPE = _sign(
    '<path d="M3 52 L57 34"/>',
    '<path d="M10 50 V20 M50 37 V20" stroke-width="3"/>',
    '<path d="M10 20 H50"/><path d="M26 17 h8 v6 h-8 Z" fill="#fff"/>'
    '<circle cx="30" cy="20" r="1.5" fill="#000"/>',
)
COLD = _sign(
    '<path d="M30 6 V54 M9 18 L51 42 M9 42 L51 18"/>',
    '<path d="M24 10 L30 16 L36 10 M24 50 L30 44 L36 50"/>',
)
