//! This machine's address in the network that it is in.

use std::io;
use std::net::{IpAddr, Ipv4Addr, UdpSocket};

/// Why no address is known.
#[derive(Debug, thiserror::Error)]
pub(crate) enum NetworkError {
    /// There is none, or none that others reach.
    #[error(
        "this machine is in no network that can be told; join one, or name this machine's address \
         in it, as in --listen 192.168.1.20"
    )]
    Absent(#[source] Option<io::Error>),
}

/// The address from which this machine would speak to others. Nothing is sent to find it: the
/// far end is an address for documentation (RFC 5737) that a datagram socket only aims at.
pub(crate) fn network_address() -> Result<IpAddr, NetworkError> {
    let absent = |error| NetworkError::Absent(Some(error));
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).map_err(absent)?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).map_err(absent)?;
    let address = socket.local_addr().map_err(absent)?.ip();
    if address.is_loopback() || address.is_unspecified() {
        return Err(NetworkError::Absent(None));
    }
    Ok(address)
}
