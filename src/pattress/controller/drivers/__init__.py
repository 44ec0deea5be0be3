"""What touches pins, flash and sensors. The pins' classes are handed in, so the same files run anywhere."""
