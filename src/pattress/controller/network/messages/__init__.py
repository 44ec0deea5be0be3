"""What is told of the controller and what may be asked of it, whichever way it is carried."""
