"""Reading what a grower wonders about: words in, suppositions of the plan out."""
