"""What other programs take: a calendar that phones subscribe to, tracing events as a file."""
