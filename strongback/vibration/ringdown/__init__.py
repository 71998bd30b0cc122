"""What a recording of a tap tells: the hits in it, pitch and damping of each mode, damping against amplitude."""
