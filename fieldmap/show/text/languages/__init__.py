"""Catalogues of texts, one for each language but English."""
