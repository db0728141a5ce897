"""Captures: a stream of samples and the manifest that says what its columns are."""
