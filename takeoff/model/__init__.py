"""The nouns: frozen values that every other package speaks in. No files, no printing, no formulas."""
