"""The same actions as the pages, for programs: JSON in, JSON out, described by one OpenAPI document."""
