"""A session as files for other programs: `tables` the rows, `csv_files` and `csvw` on disk."""
