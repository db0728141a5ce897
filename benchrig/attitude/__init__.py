"""The reference attitude filter, its two witnesses, and how well they agree."""
