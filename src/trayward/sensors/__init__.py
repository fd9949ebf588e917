"""What sensors say: hours summed, faults found, alarms with what to do, and the ways their words come in. Pure."""
