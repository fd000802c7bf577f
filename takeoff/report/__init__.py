"""Tables, pictures, PDF and workbook."""
