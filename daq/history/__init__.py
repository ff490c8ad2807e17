"""The history of one gauge: `lines` what is kept, `record` the file, `series` its checks by size,
`control`, `drift` and `due` what follows from them, `gate` whether a session may be opened.
"""
