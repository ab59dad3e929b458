"""Golden baselines, waivers and drift."""
