//! What is asked for → what answers it.

use std::sync::Arc;

use hyper::body::{Bytes, Incoming};
use hyper::{Method, Request};
use mirecast::report::html;
use serde::Deserialize;
use serde::de::DeserializeOwned;

use super::correcting::CorrectionsRequest;
use super::gate::Gate;
use super::limits::Limits;
use super::page;
use super::parcel::{LONGEST_LINE, Photo, unpack};
use super::pool::Pool;
use super::refusal::Refusal;
use super::reply::{self, Reply};
use super::seal::{Seal, Sealed};
use super::upload::{Room, Taken};
use super::work::Reader;

/// Everything that answering takes.
pub(crate) struct Service {
    pub(crate) gate: Gate,
    pub(crate) limits: Limits,
    pub(crate) room: Room,
    pub(crate) pool: Pool,
    pub(crate) reader: Reader,
    pub(crate) seal: Seal,
    pub(crate) page: Bytes,
}

/// The cards that the page has had read.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Cards {
    cards: Vec<Sealed>,
}

/// The frames that the page has had checked.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Frames {
    frames: Vec<Sealed>,
}

const CSS: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";

/// Answers a request; never fails.
pub(crate) async fn answer(service: &Arc<Service>, request: Request<Incoming>) -> Reply {
    route(service, request).await.unwrap_or_else(|refusal| reply::refusal(&refusal))
}

async fn route(service: &Arc<Service>, request: Request<Incoming>) -> Result<Reply, Refusal> {
    let (head, body) = request.into_parts();
    let asked = service.gate.admit(&head.method, &head.uri, &head.headers)?;
    let photos_bytes = service.limits.photo_bytes + LONGEST_LINE;
    let take = |most| service.room.take(body, &head.headers, most, &service.limits);
    let get = |reply: Reply| match head.method {
        Method::GET => Ok(reply),
        _ => Err(Refusal::Method { allowed: "GET" }),
    };
    if let Some((_, script)) = page::SCRIPTS.iter().find(|(name, _)| *name == asked) {
        return get(reply::text(SCRIPT, *script));
    }
    match asked {
        "" => return get(reply::text("text/html; charset=utf-8", service.page.clone())),
        ".." => return get(reply::elsewhere(&format!("{}/", head.uri.path()))),
        "alive" => return get(reply::nothing()),
        "desk.css" => return get(reply::text(CSS, page::STYLE)),
        "report.css" => return get(reply::text(CSS, html::STYLE)),
        "report.js" => return get(reply::text(SCRIPT, html::SCRIPT)),
        "card" | "cards" | "setups" | "frame" | "frames" | "corrections"
            if head.method != Method::POST =>
        {
            return Err(Refusal::Method { allowed: "POST" });
        }
        _ => {}
    }
    match asked {
        "card" => {
            let taken = take(photos_bytes).await?;
            let read =
                |service: &Service, photos| service.reader.card(first(photos)?, &service.seal);
            on_photos(service, taken, 1, read).await
        }
        "setups" => {
            let taken = take(photos_bytes).await?;
            let most = service.limits.setups;
            on_photos(service, taken, most, |service, photos| service.reader.setups(photos)).await
        }
        "frame" => {
            let taken = take(photos_bytes).await?;
            let check =
                |service: &Service, photos| service.reader.frame(first(photos)?, &service.seal);
            on_photos(service, taken, 1, check).await
        }
        "frames" => {
            let taken = take(service.limits.sealed_bytes).await?;
            on_pool(service, taken, |service, body| {
                let Frames { frames } = sealed(&body)?;
                let frames = at_most(service.limits.frames, &frames)?;
                Ok(reply::json(&service.reader.frames(frames, &service.seal)?))
            })
            .await
        }
        "cards" => {
            let taken = take(service.limits.sealed_bytes).await?;
            on_pool(service, taken, |service, body| {
                let Cards { cards } = sealed(&body)?;
                let cards = at_most(service.limits.cards, &cards)?;
                if cards.is_empty() {
                    return Err(Refusal::Malformed("no card".to_owned()));
                }
                Ok(reply::json(&service.reader.cards(cards, &service.seal)?))
            })
            .await
        }
        "corrections" => {
            let taken = take(service.limits.sealed_bytes).await?;
            on_pool(service, taken, |service, body| {
                let wanted: CorrectionsRequest = sealed(&body)?;
                at_most(service.limits.cards, &wanted.cards)?;
                at_most(service.limits.frames, &wanted.frames)?;
                Ok(reply::json(&wanted.corrections(&service.seal)?))
            })
            .await
        }
        _ => Err(Refusal::NotFound),
    }
}

/// What the page brings back.
fn sealed<T: DeserializeOwned>(body: &Bytes) -> Result<T, Refusal> {
    serde_json::from_slice(body).map_err(|error| Refusal::Malformed(error.to_string()))
}

fn at_most(most: usize, sealed: &[Sealed]) -> Result<&[Sealed], Refusal> {
    if sealed.len() > most { Err(Refusal::TooMany { most }) } else { Ok(sealed) }
}

fn first(photos: Vec<Photo>) -> Result<Photo, Refusal> {
    photos.into_iter().next().ok_or_else(|| Refusal::Malformed("no photo".to_owned()))
}

async fn on_photos<A: serde::Serialize>(
    service: &Arc<Service>,
    taken: Taken,
    most: usize,
    work: impl FnOnce(&Service, Vec<Photo>) -> Result<A, Refusal> + Send + 'static,
) -> Result<Reply, Refusal> {
    on_pool(service, taken, move |service, body| {
        let photos = unpack(&body, most)?;
        drop(body);
        Ok(reply::json(&work(service, photos)?))
    })
    .await
}

/// Does the work on the pool. Whoever asked and has gone meanwhile is not worked for; a panic is
/// its own request's fault only.
async fn on_pool(
    service: &Arc<Service>,
    taken: Taken,
    work: impl FnOnce(&Service, Bytes) -> Result<Reply, Refusal> + Send + 'static,
) -> Result<Reply, Refusal> {
    let own = Arc::clone(service);
    let Taken { bytes, room } = taken;
    let work = move || {
        let done = work(&own, bytes);
        drop(room);
        done
    };
    service.pool.run(work).await?
}
