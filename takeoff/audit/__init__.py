"""Stated areas against measured ones: matching, verdicts that know the uncertainty, and likely causes.

Of all of it: areas are m², ``basis`` is what stated areas were taken to be areas of, ``labels`` name every room by its
id, and ``display`` and ``show`` write figures.
"""
