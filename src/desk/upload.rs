//! A request's body → bytes, within limits of size, time and memory.

use bytes::Bytes;
use http_body_util::BodyExt;
use hyper::body::{Body, Incoming};
use hyper::header::{CONTENT_LENGTH, HeaderMap};
use std::sync::Arc;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, timeout};

use super::limits::Limits;
use super::refusal::Refusal;

/// Bodies are counted in pieces of this size.
const PIECE: usize = 4096;

/// The room that all bodies share.
#[derive(Debug, Clone)]
pub(crate) struct Room(Arc<Semaphore>);

/// A body, and the room that it takes until it is dropped.
#[derive(Debug)]
pub(crate) struct Taken {
    pub(crate) bytes: Bytes,
    /// Goes along with the bytes to whoever works on them.
    pub(crate) room: OwnedSemaphorePermit,
}

impl Room {
    pub(crate) fn new(limits: &Limits) -> Self {
        Self(Arc::new(Semaphore::new(limits.bytes_in_flight.div_ceil(PIECE))))
    }

    /// Takes in a body of at most so many bytes. Where there is no room for it yet it waits in
    /// turn, unread, so that the sender waits too; its time runs from when it is let in.
    pub(crate) async fn take(
        &self,
        mut body: Incoming,
        headers: &HeaderMap,
        most: usize,
        limits: &Limits,
    ) -> Result<Taken, Refusal> {
        let too_large = Refusal::TooLarge { megabytes: most >> 20 };
        let length = length(headers)?;
        let length = usize::try_from(length).ok().filter(|length| *length <= most);
        let length = length.ok_or_else(|| too_large.clone())?;
        let pieces = u32::try_from(length.div_ceil(PIECE)).map_err(|_| too_large.clone())?;
        let room = Arc::clone(&self.0).acquire_many_owned(pieces).await;
        let room = room.map_err(|_| Refusal::Stumbled)?;

        let begun = Instant::now();
        let mut bytes = Vec::new();
        bytes.try_reserve_exact(length).map_err(|_| too_large.clone())?;
        while !body.is_end_stream() {
            let left = limits.body.saturating_sub(begun.elapsed()).min(limits.pause);
            let frame = timeout(left, body.frame()).await.map_err(|_| Refusal::TooSlow)?;
            let Some(frame) = frame else { break };
            let Ok(data) = frame.map_err(|_| Refusal::BrokenOff)?.into_data() else { continue };
            if bytes.len() + data.len() > length {
                return Err(too_large);
            }
            bytes.extend_from_slice(&data);
        }
        if bytes.len() == length {
            Ok(Taken { bytes: bytes.into(), room })
        } else {
            Err(Refusal::BrokenOff)
        }
    }
}

/// What the one header says; bodies whose length is not known beforehand cannot be given room.
fn length(headers: &HeaderMap) -> Result<u64, Refusal> {
    let mut values = headers.get_all(CONTENT_LENGTH).iter();
    match (values.next().map(|value| value.to_str()), values.next()) {
        (Some(Ok(length)), None) => length.parse().map_err(|_| Refusal::Length),
        _ => Err(Refusal::Length),
    }
}
