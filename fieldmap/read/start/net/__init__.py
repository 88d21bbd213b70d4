"""The one place that asks a network, and only when the user says so."""
