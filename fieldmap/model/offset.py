"""How finely differences of temperature are shown: no finer than they are known."""

STEP_C = 0.5  # the finest step of an offset that people are shown


def rounded_c(offset_c: float) -> float:
    """An offset rounded to the step that people are shown, halves away from zero.

    Examples
    --------
    >>> rounded_c(-0.74), rounded_c(-0.75), rounded_c(0.1)
    (-0.5, -1.0, 0.0)
    """
    steps = int(abs(offset_c) / STEP_C + 0.5) * STEP_C
    return steps if offset_c >= 0 or steps == 0 else -steps
