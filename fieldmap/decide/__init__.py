"""Fields -> facts: beds, tunnels, dates, crops, covers, pegs, jobs and their order.

Sites and analyses come in; records of numbers, names and facts go out, without a sentence,
a unit for reading or a language.
"""
