"""What the sessions of these tests share."""

import pytest


@pytest.fixture(autouse=True, scope="session")
def shorter_replay():
    """Let the library vouch for less of each of the many judgements: the attitude has tests of its own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("benchrig.attitude.reference.REPLAYED_SAMPLES", 50)
        yield
