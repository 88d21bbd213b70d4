"""What people see of the early order."""

import numpy as np
import numpy.typing as npt

FIRST, SAME, BETWEEN, LAST = "first", "no real difference", "in between", "last"
GROUPS = (FIRST, SAME, BETWEEN, LAST)


def name_groups(first: npt.NDArray[np.bool_], last: npt.NDArray[np.bool_]) -> list[str]:
    """The group of each bed, by whether it ties with the first bed and with the last.

    A bed that ties with both is no real difference, one with neither lies in between.
    """
    names = {
        (True, True): SAME,
        (True, False): FIRST,
        (False, True): LAST,
        (False, False): BETWEEN,
    }
    return [names[pair] for pair in zip(first.tolist(), last.tolist(), strict=True)]
