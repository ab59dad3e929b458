"""`python -m vault` is the command line."""

from vault.cli import main

main()
