"""The parts of the drawn holding: rows of boxes, tanks, pipes, and the strokes they are made of."""
