"""What other programs read of a farm: tracing events (EPCIS 2.0) and a calendar (RFC 5545). Pure; nothing is sent."""
