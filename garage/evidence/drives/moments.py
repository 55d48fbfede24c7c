"""Time of a row: seconds, a clock or a stamp, as seconds since the first row."""

import re
from datetime import UTC, datetime

from garage.evidence.drives.columns import Convert

_CLOCK = re.compile(r"(\d{1,3}):([0-5]\d):([0-5]\d(?:[.,]\d{1,9})?)", re.ASCII)
_SECONDS = re.compile(r"\d{1,12}(?:[.,]\d{1,9})?", re.ASCII)
_DAY_S = 86_400.0
#: A clock that falls by more than this has passed midnight; a smaller fall is a fault. Judgement,
#: no source: no drive is half a day long.
_MIDNIGHT_FALL_S = 43_200.0


class Moments:
    """Reads the times of one table, whose first time sets the form and the zero.

    Examples
    --------
    >>> clock = Moments(lambda seconds: seconds)
    >>> [clock.seconds(text) for text in ("23:59:50", "00:00:10")]
    [0.0, 20.0]
    """

    def __init__(self, convert: Convert) -> None:
        self._convert = convert
        self._form: str | None = None
        self._first_s = 0.0
        self._last_s = 0.0
        self._days_s = 0.0

    def seconds(self, text: str) -> float:
        """Seconds since the first row.

        Raises ValueError with the rule for a time of another form, or before the row before.
        """
        form, raw_s = self._parsed(text)
        if self._form is None:
            self._form, self._first_s = form, raw_s
        elif form != self._form:
            raise ValueError(f"times are in the form of the first row ({self._form})")
        days_s = self._days_s
        if form == "clock" and self._last_s - (raw_s + days_s - self._first_s) > _MIDNIGHT_FALL_S:
            days_s += _DAY_S
        since_s = raw_s + days_s - self._first_s
        if since_s < self._last_s:
            raise ValueError("time does not go back")
        self._last_s, self._days_s = since_s, days_s
        return since_s

    def _parsed(self, text: str) -> tuple[str, float]:
        if _SECONDS.fullmatch(text):
            return "seconds", self._convert(float(text.replace(",", ".")))
        clock = _CLOCK.fullmatch(text)
        if clock is not None:
            hours, minutes, seconds = clock.groups()
            return "clock", int(hours) * 3600 + int(minutes) * 60 + float(seconds.replace(",", "."))
        try:
            stamp = datetime.fromisoformat(text)
        except ValueError:
            raise ValueError("a time is seconds, hh:mm:ss or an ISO stamp") from None
        if stamp.tzinfo is None:
            return "stamp", stamp.replace(tzinfo=UTC).timestamp()
        return "stamp with zone", stamp.timestamp()
