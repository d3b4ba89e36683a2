//! `mirecast desk`: one page, served on this machine, that reads what is dropped on it.
//!
//! Every request goes the same way: [`gate`] lets in who has the code and comes from the page
//! itself, [`routes`] says what is asked for, [`upload`] takes in the body within [`Limits`],
//! [`work`] reads the pictures on the [`pool`], and [`reply`] writes the answer
//! with its headers. Nothing of it is kept: what the page needs once more it holds itself, and what
//! it must not change in between is [`seal`]ed.

mod bundle;
mod code;
mod correcting;
mod gate;
mod limits;
mod network;
mod page;
mod parcel;
mod pool;
mod qr;
mod refusal;
mod reply;
mod routes;
mod seal;
mod server;
#[cfg(test)]
mod tests;
mod upload;
mod work;

pub(crate) use limits::Limits;
pub(crate) use network::{NetworkError, network_address};
pub(crate) use qr::qr_code;
pub(crate) use server::{Desk, DeskError, Place};
pub(crate) use work::Reader;
