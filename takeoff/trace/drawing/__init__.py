"""What is drawn on a sheet, as values that every reader shares: lines, arcs, fills, layers, polygons."""
