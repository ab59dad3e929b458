"""Exports of drives that nobody knows, generated and by hand, and what drafts make of them."""
