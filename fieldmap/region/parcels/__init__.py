"""Parcels of a region: what is known of each, in which order, and the page to choose by.

`facts` reads the layers under the outlines, `season` sets the weather record on them,
`ranking` orders them with ties and reasons; `tables` and `page` show them, and `as_site`
makes a site of one for its own plan.
"""
