"""Benches over time: an old result judged again, two benches compared, and the book of all of them."""
