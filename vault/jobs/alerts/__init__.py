"""Telling people what drifts."""
