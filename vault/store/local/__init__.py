"""What lies beside the repository, in no tree: accounts, outbox, secrets, locks."""
