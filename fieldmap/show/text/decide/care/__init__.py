"""Water and heat in words: what beds and tunnels ask of whoever tends them."""
