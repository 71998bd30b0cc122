"""Several models of the same readings, weighted by how well each foretells them. Kernels: arrays in, arrays out."""
