"""What stands on the card for the tunnel door, beside the sentences of `door_card`."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import later

TITLE = later("When to open and close this tunnel")
# By the sign beside them.
CAUTIONS = texts(__name__, "cautions")
