"""Device descriptions: what a kind of device has, and not what one of them holds."""
