//! Files into a survey: columns matched, outlines mended, visits joined, every row accounted for.
