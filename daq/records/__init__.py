"""The record on disk: `codec` event to bytes and back, `chain` the digests, `ledger` the file."""
