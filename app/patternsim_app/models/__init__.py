"""Lists as Qt wants them, over plain values."""
