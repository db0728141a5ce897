"""`benchrig book`: the bench book."""
