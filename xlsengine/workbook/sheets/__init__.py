"""One file a sheet of the results workbook; each places its blocks first and is written afterwards."""
