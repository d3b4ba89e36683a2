//! How much the desk takes on, and how long it waits.

use std::time::Duration;

/// Bounds on uploads and connections. The defaults take every photograph of an ordinary camera and
/// keep the desk's memory bounded whatever is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Limits {
    /// Largest photo, in bytes.
    pub(crate) photo_bytes: usize,
    /// Largest list of what was read that comes back to be grouped, reported or corrected, in bytes.
    pub(crate) sealed_bytes: usize,
    /// Most photos compared at once.
    pub(crate) setups: usize,
    /// Most cards in one report.
    pub(crate) cards: usize,
    /// Most frames grouped at once.
    pub(crate) frames: usize,
    /// Largest picture, in pixels.
    pub(crate) pixels: u64,
    /// Bytes of bodies held at once, over all requests; who comes later waits.
    pub(crate) bytes_in_flight: usize,
    /// Connections held at once; who comes later waits.
    pub(crate) connections: usize,
    /// Longest time for the work on one request.
    pub(crate) work: Duration,
    /// Longest wait for the head of a request.
    pub(crate) head: Duration,
    /// Longest wait for the next bytes of a body.
    pub(crate) pause: Duration,
    /// Longest time for a whole body, once it is being taken in.
    pub(crate) body: Duration,
    /// Longest life of a connection, whatever goes on in it.
    pub(crate) connection: Duration,
    /// How long what is under way may take to end once the desk is stopped.
    pub(crate) farewell: Duration,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            photo_bytes: 192 << 20,
            sealed_bytes: 64 << 20,
            setups: 6,
            cards: 200,
            frames: 4000,
            pixels: 120_000_000,
            bytes_in_flight: 256 << 20,
            connections: 256,
            work: Duration::from_secs(60),
            head: Duration::from_secs(15),
            pause: Duration::from_secs(15),
            body: Duration::from_secs(300),
            connection: Duration::from_secs(1800),
            farewell: Duration::from_secs(3),
        }
    }
}
