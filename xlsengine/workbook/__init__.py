"""The only place that knows spreadsheets: layout, template, reader, formats, tables and charts."""
