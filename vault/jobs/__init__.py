"""What users do with a vault; each job returns plain dataclasses."""
