"""What is said of care wherever water, acid or feed is worked out."""

from __future__ import annotations

ACID_CAUTIONS = (
    "Acids and lye burn skin and eyes: goggles, gloves, fresh air, and water to rinse with at hand.",
    "Pour acid into water, never water into acid; add it slowly, and stir.",
    "Never let acid near bleach or any chlorine product: poison gas. Never mix acid and lye undiluted.",
    "Keep it locked away, in its own bottle, labelled.",
    "The label, local codes and licensed practice go before this sheet.",
)
"""Said on every sheet on which acid or lye is measured."""
FEED_CAUTIONS = (
    "Concentrates irritate skin and eyes: gloves and goggles. Never mix two concentrates undiluted.",
    "The label and local codes go before this sheet.",
)
MEASURE = "A sum is no measurement: read a clean, calibrated meter after mixing, and go by it."
CHEMISTRY = (
    "Holds for clear water up to about 0.1 mol/l of salts, from 0 to 50 C. Scale that forms, iron, silica and what the "
    "feed itself does to the pH are left out.",
)
MIXING_ORDER = (
    "Measure the water first, all of it.",
    "Stir in the feed; a two-part feed one part after the other, never undiluted together.",
    "Measure the pH, then add most of the acid, a little at a time, stirring.",
    "Wait a minute, measure, and add the rest by drops.",
    "Write down pH and EC. Use it within the day: open water drifts.",
)
