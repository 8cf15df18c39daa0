"""Keep out of the log what would open somebody's pages."""

import logging
import re

# Riders' and workshops' private links, and the links of staff who have forgotten their password.
SECRETS = re.compile(r"(/[rw]/|/accounts/reset/[^/\s]+/)[^/\s?]+")


class HideSecrets(logging.Filter):
    """Django logs the address of every request that it answers with an error; this leaves out the secret part.

    >>> SECRETS.sub(r"\\1…", "Gone: /r/kQ3.9f/check/")
    'Gone: /r/…/check/'
    """

    def filter(self, record: logging.LogRecord) -> bool:
        """Let every record pass, without secrets."""
        record.msg, record.args = SECRETS.sub(r"\1…", record.getMessage()), None
        return True
