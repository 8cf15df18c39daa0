#!/usr/bin/env python
"""Run the product's commands: ``manage.py demo`` starts everything; ``manage.py help`` lists the rest."""

import os
import sys


def main() -> None:
    """Choose the settings that the command needs, then hand over to Django."""
    settings = "fitstudio.settings.demo" if sys.argv[1:2] == ["demo"] else "fitstudio.settings.development"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", settings)
    from django.core.management import execute_from_command_line  # noqa: PLC0415 - the settings must be chosen first

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
