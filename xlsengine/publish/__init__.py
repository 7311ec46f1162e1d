"""What is handed to readers: pictures, a page, tables and a workbook, all from one assessment."""
