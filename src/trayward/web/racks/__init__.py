"""The place as it is: every shelf and spot, moving trays by tap, and how it will be on a day ahead."""
