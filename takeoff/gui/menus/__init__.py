"""The menus: each a table of commands."""
