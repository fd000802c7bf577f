"""Fields, tables, colours and the toolkit itself."""
