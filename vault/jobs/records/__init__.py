"""What people write about axes, machines, families and the site."""
