"""Where a mount belongs on its axle, how posts and bosses meet their tube, and the stack that holds it."""
