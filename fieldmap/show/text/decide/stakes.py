"""How to set out stakes, in words."""

from fieldmap.show.text.catalogue import texts

_WORDS = texts(__name__, "words")
PHONE: str = _WORDS["phone"]
SQUARE: str = _WORDS["square"]
