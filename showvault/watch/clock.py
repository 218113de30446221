"""What time it is, for people and for waiting."""

import time
from datetime import datetime


class MachineClock:
    """The clocks of this machine."""

    def wall(self) -> datetime:
        """The local time, aware; it may jump."""
        return datetime.now().astimezone()

    def monotonic(self) -> float:
        """Seconds that only grow; they may stand still while the machine sleeps."""
        return time.monotonic()
