//! Commands and events over one web socket.

use std::net::TcpStream;
use std::time::Duration;

use serde_json::{Value, json};
use tungstenite::{Message, WebSocket};

use crate::BrowserError;

pub(crate) struct Connection {
    socket: WebSocket<TcpStream>,
    commands: u64,
    /// What happened and was not asked for yet.
    events: Vec<Value>,
}

impl std::fmt::Debug for Connection {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Connection").field("commands", &self.commands).finish_non_exhaustive()
    }
}

/// A busy machine may take its time, but not for ever.
const PATIENCE: Duration = Duration::from_secs(60);

fn broken(error: impl std::fmt::Display) -> BrowserError {
    BrowserError::Connection(error.to_string())
}

impl Connection {
    pub(crate) fn open(address: &str) -> Result<Self, BrowserError> {
        let host = address.trim_start_matches("ws://").split('/').next().unwrap_or_default();
        let stream = TcpStream::connect(host).map_err(broken)?;
        stream.set_read_timeout(Some(PATIENCE)).map_err(broken)?;
        let (socket, _) = tungstenite::client(address, stream).map_err(broken)?;
        Ok(Self { socket, commands: 0, events: Vec::new() })
    }

    /// Gives a command and waits for its result.
    pub(crate) fn call(
        &mut self,
        session: Option<&str>,
        method: &str,
        parameters: Value,
    ) -> Result<Value, BrowserError> {
        self.commands += 1;
        let id = self.commands;
        let mut command = json!({"id": id, "method": method, "params": parameters});
        if let Some(session) = session {
            command["sessionId"] = session.into();
        }
        self.socket.send(Message::text(command.to_string())).map_err(broken)?;
        loop {
            let mut answer = self.receive()?;
            if answer["id"] != id {
                self.events.push(answer);
            } else if let Some(message) = answer["error"]["message"].as_str() {
                let (method, message) = (method.to_owned(), message.to_owned());
                return Err(BrowserError::Refused { method, message });
            } else {
                return Ok(answer["result"].take());
            }
        }
    }

    /// Waits until something has happened in a session.
    pub(crate) fn wait_for(&mut self, session: &str, event: &str) -> Result<(), BrowserError> {
        let is_it = |heard: &Value| heard["method"] == event && heard["sessionId"] == session;
        while !self.events.iter().any(is_it) {
            let heard = self.receive()?;
            self.events.push(heard);
        }
        Ok(())
    }

    /// Everything that has happened in a session since this was last asked.
    pub(crate) fn events_of(&mut self, session: &str) -> Vec<Value> {
        let (own, others) =
            self.events.drain(..).partition(|heard: &Value| heard["sessionId"] == session);
        self.events = others;
        own
    }

    fn receive(&mut self) -> Result<Value, BrowserError> {
        loop {
            if let Message::Text(text) = self.socket.read().map_err(broken)? {
                return serde_json::from_str(&text).map_err(broken);
            }
        }
    }
}
