"""The folder in which the command runs, looked at before anything is loaded."""

import os
from pathlib import Path

from fieldmap.errors import site_error

# Orders that numba takes from the folder where the command runs: where its compiled code
# lies, among others, and that code is run.
ORDERS = ".numba_config.yaml"


def check_here() -> None:
    """Raise SiteError where the folder in which the command runs gives orders, or is gone.

    Workers begin as Pythons of their own; by the environment they look for no modules
    there.
    """
    os.environ["PYTHONSAFEPATH"] = "1"
    try:
        Path.cwd()
    except FileNotFoundError:
        raise site_error(
            "the folder where you are was deleted; go to another folder."
        ) from None
    if os.path.lexists(ORDERS):
        raise site_error(
            "the folder where you are holds {file}, and a library would follow this"
            " file; move it away, or go to another folder.",
            file=ORDERS,
        )
