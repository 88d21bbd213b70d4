"""How a crew with two tapes pegs each field; `site_pegs` is the whole of it."""
