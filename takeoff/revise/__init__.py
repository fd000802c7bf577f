"""A new issue of a sheet: registered onto the old one, compared with it, and the runs carried across."""
