//! Colour science.
