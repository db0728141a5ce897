"""`benchrig record`: the door of a guided bench on a terminal."""
