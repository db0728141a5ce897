"""The append-only store: what is recorded is on the disk 50 ms later, and damage to it is found."""
