"""Bytes on disk: the ledger, the gauge's history, files written whole; replay."""
