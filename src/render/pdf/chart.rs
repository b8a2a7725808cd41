//! A strength over time, drawn into a page.
