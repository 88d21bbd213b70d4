"""Made-up walks around plots of known area, as a phone would record them."""

import numpy as np
from pyproj import Transformer

WALKING_M_S = 1.2


def path(corners, rng, detour_m=30.0, past_start_m=12.0):
    """True places at one a second: pauses, a way to the gate and back, past the start."""
    corners = np.asarray(corners, float)
    count = len(corners)
    legs = [corners[0]]
    for number in range(1, count + 1):
        corner = corners[number % count]
        legs.append(corner)
        if number == 2:
            out = corner - corners.mean(axis=0)
            gate = corner + out / np.hypot(*out) * detour_m
            legs += [gate, None, corner]
        if number in (1, 3):
            legs.append(None)
    along = corners[1] - corners[0]
    legs.append(corners[0] + along / np.hypot(*along) * past_start_m)
    pieces, here = [], legs[0]
    for leg in legs[1:]:
        if leg is None:
            pieces.append(np.repeat(here[None], rng.integers(30, 90), axis=0))
            continue
        steps = max(1, round(np.hypot(*(leg - here)) / WALKING_M_S))
        pieces.append(here + (leg - here) * np.arange(steps)[:, None] / steps)
        here = leg
    return np.vstack([*pieces, here[None]])


def astray(count, rng, error_m, lasting_s):
    """Errors of one a second that last: an autoregressive series for each axis."""
    kept = np.exp(-1.0 / lasting_s)
    errors = rng.normal(0, error_m * np.sqrt(1 - kept**2), (count, 2))
    errors[0] = rng.normal(0, error_m, 2)
    for number in range(1, count):
        errors[number] += kept * errors[number - 1]
    return errors


def walk(corners, seed, error_m=3.0, lasting_s=40.0, **how):
    """Places in metres and seconds of a noisy walk."""
    rng = np.random.default_rng(seed)
    places = path(corners, rng, **how)
    noise = astray(len(places), rng, error_m, lasting_s)
    return places + noise, np.arange(len(places), dtype=float)


def gpx(places, seconds, name="Long Field", epsg=32633, waypoints=()):
    """A GPX 1.1 of one track, and of named places in metres."""
    to_degrees = Transformer.from_crs(epsg, 4326, always_xy=True)
    points = "".join(
        f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"><time>{_time(second)}</time></trkpt>'
        for lon, lat, second in zip(
            *to_degrees.transform(*np.asarray(places).T), seconds, strict=True
        )
    )
    marks = "".join(
        '<wpt lat="{1:.7f}" lon="{0:.7f}"><name>{2}</name></wpt>'.format(
            *to_degrees.transform(east, north), title
        )
        for east, north, title in waypoints
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?><gpx version="1.1" creator="made up"'
        f' xmlns="http://www.topografix.com/GPX/1/1">{marks}<trk><name>{name}</name>'
        f"<trkseg>{points}</trkseg></trk></gpx>"
    )


def _time(second):
    minute, left = divmod(int(second), 60)
    hour, minute = divmod(minute, 60)
    return f"2026-11-01T{9 + hour:02d}:{minute:02d}:{left:02d}Z"
