"""The nouns: what a site, a crop, a raster, a year of growing and a field log are.

Nothing comes in but values; what must hold of them is checked here. Every room may use
them, and they use nothing but `errors`.
"""
