"""Sentences, units and languages: the only place with words for people.

Facts come in, text in the language of the site goes out.
"""
