"""Cold air of clear calm nights: where it runs, where it lies, and what it is worth.

`ground` is what it runs over, `flow` lets it run, `offset` makes degrees of its depth;
`flow_lines`, `barriers` and `pockets` draw out of it what people look for.
"""
