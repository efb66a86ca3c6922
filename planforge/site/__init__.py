"""A site: the lots of one street or tract in one file, each read by itself as its own job file would be."""
