"""Forces of a braked wheel: at pads, axle, slot and screws, in the tubes as a frame, in the mount."""
