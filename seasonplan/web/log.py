"""How a log event becomes one line on standard error."""

import logging
import time


class OneLine(logging.Formatter):
    """Time in UTC, level, logger and message; line breaks, tracebacks included, become ` | `."""

    converter = staticmethod(time.gmtime)
    default_msec_format = "%s.%03dZ"
    default_time_format = "%Y-%m-%dT%H:%M:%S"

    def __init__(self) -> None:
        super().__init__("%(asctime)s %(levelname)s %(name)s %(message)s")

    def format(self, record: logging.LogRecord) -> str:
        return " | ".join(line for line in super().format(record).splitlines() if line.strip())
