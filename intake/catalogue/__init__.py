"""The checks that a rider is asked to make, as data: what to look at, what an answer means, how a fault is put right."""
