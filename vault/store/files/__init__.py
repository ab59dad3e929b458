"""The files of the vault's tree: where they lie, and each as text and as an object."""
