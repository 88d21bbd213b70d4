"""Lines of the lists of the GHCN-Daily archive, in its own columns."""


def station(code, latitude, longitude, height_m, name):
    """A line of ghcnd-stations.txt: columns 1-11, 13-20, 22-30, 32-37, 42-71."""
    return f"{code:11} {latitude:8.4f} {longitude:9.4f} {height_m:6.1f} NY {name:30}"


def inventory(code, element, first, last):
    """A line of ghcnd-inventory.txt: columns 1-11, 13-20, 22-30, 32-35, 37-40, 42-45."""
    return f"{code:11} {44.0:8.4f} {-74.0:9.4f} {element:4} {first:4d} {last:4d}"
