"""Git: the bare repository, its objects, histories and other copies."""
