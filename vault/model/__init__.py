"""Pure data: quantities, parameters, families, roles, axes. No input or output."""
