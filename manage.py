#!/usr/bin/env python
"""Run the product's commands: ``manage.py demo`` starts everything; ``manage.py help`` lists the rest."""

import os
import sys
from pathlib import Path


def main() -> None:
    """Choose the settings: those that the environment or ``.env`` names, else the demo's or development's; then hand over."""
    import environ  # noqa: PLC0415 - this file itself needs no package

    environ.Env.read_env(Path(__file__).with_name(".env"))
    settings = "fitstudio.settings.demo" if sys.argv[1:2] == ["demo"] else "fitstudio.settings.development"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", settings)
    from django.core.management import execute_from_command_line  # noqa: PLC0415 - the settings must be chosen first

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
