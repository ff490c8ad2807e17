"""A session as files that other programs read: `tables` the rows, `csv_files` and `csvw` on disk."""
