//! Stills.
