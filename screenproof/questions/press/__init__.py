"""Press: fit one to its chart, say what tints print, and find the tints for colours."""
