"""The swapped drive: plan, sheet, load file, verdict, sign-off."""
