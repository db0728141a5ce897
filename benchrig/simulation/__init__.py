"""A rig with known truth and chosen faults: shares no code with what judges it."""
