"""The viewer under load: many people who read, some who take exports in, and what came of it."""
