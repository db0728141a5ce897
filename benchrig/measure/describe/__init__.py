"""What an unknown stream holds, by physics alone."""
