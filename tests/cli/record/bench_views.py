"""Moments of a made-up session, one of every kind, for tests of what shows them."""

from benchrig.errors import Problem
from benchrig.live.view import Heard, Question, Standing, View

HEARD = Heard(samples=8412, lost=3, refused=1, seconds=42.06, rate_hz=200.2)
WANTED = (25.0, 60.0)
ACTUATORS = ("front", "right rear", "left rear", "tail")


def row(sensed, corrected="not shown"):
    return {
        "accelerometer": sensed,
        "gyro": sensed,
        "attitude": sensed,
        **{f"actuator:{a}": corrected for a in ACTUATORS},
    }


CELLS = {
    "level": {"accelerometer": "pass"},
    "nose up": row("pass", "pass"),
    "nose down": row("pass"),
    "roll right": row("fail"),
    "roll left": row("not shown"),
    "yaw right": row("not shown"),
    "yaw left": row("not shown"),
}
OPEN = Standing("not shown", "not shown", "not shown", CELLS)
FAILED = Standing("fail", "fail", "not shown", CELLS, "The unit sits otherwise than declared: its x arrow points aft.")
TROUBLE = Problem(
    "/dev/ttyUSB0",
    "what comes is no row of this device file: 55 of 57 pieces were refused",
    cause="the port runs at another speed; at 460800 baud 98 of 100 rows are valid",
    act="set baud = 460800 in bench-unit.toml",
)
QUESTION = Question("nose up", "front", {"u": "plate up", "d": "plate down", "s": "still", "n": "not seen"})

VIEWS = {
    "waiting": View("waiting"),
    "trouble": View("waiting", trouble=TROUBLE, mood="trouble"),
    "lie still": View("lie still", "level", held_s=1.3, hold_s=3.0, heard=HEARD),
    "move": View("move", "nose up", WANTED, 2, (0.3, 0.2, 0.1), heard=HEARD),
    "moving": View("moving", "roll right", WANTED, 4, (18.0, 3.0, 0.1), heard=HEARD, standing=OPEN),
    "free": View("moving", "free", number=8, turned_deg=(30.0, 30.0, 10.0), heard=HEARD, standing=OPEN),
    "hold": View("hold", "yaw left", WANTED, 7, (3.0, 2.0, -41.0), held_s=0.4, hold_s=0.6, heard=HEARD, standing=OPEN),
    "return": View("return", "nose down", WANTED, 3, (3.0, -44.0, 1.0), said="nose down 44°", mood="good", heard=HEARD),
    "again": View("move", "roll right", WANTED, 4, said="asked roll right; saw nose up 24°", mood="again", heard=HEARD),
    "question": View("question", "nose up", WANTED, 2, question=QUESTION, heard=HEARD, standing=OPEN),
    "judging": View("judging", heard=HEARD, standing=OPEN),
    "finished": View("finished", heard=HEARD, standing=FAILED),
}
"""Every phase, and what else can stand on the screen."""
