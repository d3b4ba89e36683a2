//! Reads a photograph of a white card and says what light it was taken in.
pub mod colour;
pub mod still;
