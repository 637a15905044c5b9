"""How a log event becomes one line on standard error."""

import logging
import re
import time


class OneLine(logging.Formatter):
    """Time in UTC, level, logger and message; line breaks, tracebacks included, become ` | `.

    What the pattern `keep_to_itself` finds, such as the secret of a link, becomes `***`.
    """

    converter = staticmethod(time.gmtime)
    default_msec_format = "%s.%03dZ"
    default_time_format = "%Y-%m-%dT%H:%M:%S"

    def __init__(self, keep_to_itself: str) -> None:
        super().__init__("%(asctime)s %(levelname)s %(name)s %(message)s")
        self.secret = re.compile(keep_to_itself)

    def format(self, record: logging.LogRecord) -> str:
        lines = super().format(record).splitlines()
        return self.secret.sub("***", " | ".join(line for line in lines if line.strip()))
