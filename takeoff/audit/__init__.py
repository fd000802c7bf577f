"""Stated areas against measured ones: matching, verdicts that know the uncertainty, and likely causes."""
