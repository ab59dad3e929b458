"""The vault on disk: git, the index, the files of the tree, and what lies beside them."""
