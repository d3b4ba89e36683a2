//! Who is let in.

use std::net::SocketAddr;

use hyper::header::{HOST, HeaderMap, ORIGIN};
use hyper::{Method, Uri};

use super::code::Code;
use super::refusal::Refusal;

/// The addresses at which the desk is, and the code that opens them.
#[derive(Debug, Clone)]
pub(crate) struct Gate {
    hosts: Vec<String>,
    code: Code,
}

impl Gate {
    /// Only literal addresses and `localhost` are names of the desk: a name that somebody else
    /// can make lead here (DNS rebinding) is none of them.
    pub(crate) fn new(addresses: &[SocketAddr], code: Code) -> Self {
        let mut hosts: Vec<_> = addresses.iter().map(ToString::to_string).collect();
        let loopback = addresses.iter().filter(|address| address.ip().is_loopback());
        hosts.extend(loopback.map(|address| format!("localhost:{}", address.port())));
        Self { hosts, code }
    }

    /// The path behind the code, of a request that may come in.
    pub(crate) fn admit<'a>(
        &self,
        method: &Method,
        uri: &'a Uri,
        headers: &HeaderMap,
    ) -> Result<&'a str, Refusal> {
        let host = only(headers, HOST.as_str()).ok_or(Refusal::Host)?;
        if !self.hosts.iter().any(|own| own.eq_ignore_ascii_case(host)) {
            return Err(Refusal::Host);
        }
        // A proxy's form of request, with a whole address in it, is for proxies.
        if uri.authority().is_some() {
            return Err(Refusal::Host);
        }
        let path = uri.path().strip_prefix('/').ok_or(Refusal::NoCode)?;
        let (code, rest) = path.split_once('/').unwrap_or((path, ""));
        if !self.code.is(code) {
            return Err(Refusal::NoCode);
        }
        let is_own = |origin: &str| {
            origin.strip_prefix("http://").is_some_and(|o| o.eq_ignore_ascii_case(host))
        };
        match headers.contains_key(ORIGIN) {
            true if !only(headers, ORIGIN.as_str()).is_some_and(is_own) => {
                return Err(Refusal::Origin);
            }
            // Browsers say it of whatever is sent; who does not is no page of ours.
            false if method == Method::POST => return Err(Refusal::Origin),
            _ => {}
        }
        match only(headers, "sec-fetch-site") {
            // `none` is what somebody typed or scanned.
            Some("same-origin") => {}
            Some("none") if method != Method::POST => {}
            // A link in a message or from another page may open the page itself, no more.
            Some("same-site" | "cross-site") if method == Method::GET && rest.is_empty() => {}
            None if !headers.contains_key("sec-fetch-site") => {}
            _ => return Err(Refusal::Origin),
        }
        // `/code` leads to `/code/`, which the page's own files are relative to.
        Ok(if path.contains('/') { rest } else { ".." })
    }
}

/// The one value of a header; `None` where there is none, several, or one that is not text.
fn only<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?;
    if values.next().is_some() { None } else { value.to_str().ok() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(
        method: &Method,
        path: &str,
        headers: &[(&'static str, &str)],
    ) -> Result<String, Refusal> {
        let code = Code::new().unwrap();
        let gate = Gate::new(
            &["127.0.0.1:8000".parse().unwrap(), "10.0.0.7:8000".parse().unwrap()],
            code.clone(),
        );
        let uri: Uri = path.replace("CODE", &code.to_string()).parse().unwrap();
        let mut map = HeaderMap::new();
        for (name, value) in headers {
            map.append(*name, value.parse().unwrap());
        }
        gate.admit(method, &uri, &map).map(str::to_owned)
    }

    const HERE: (&str, &str) = ("host", "127.0.0.1:8000");
    const OWN: (&str, &str) = ("origin", "http://127.0.0.1:8000");

    #[test]
    fn who_has_the_code_is_let_in_at_each_of_the_addresses() {
        for host in ["127.0.0.1:8000", "localhost:8000", "LOCALHOST:8000", "10.0.0.7:8000"] {
            assert_eq!(ask(&Method::GET, "/CODE/desk.js", &[("host", host)]), Ok("desk.js".into()));
        }
        assert_eq!(ask(&Method::GET, "/CODE/", &[HERE]), Ok(String::new()));
        assert_eq!(ask(&Method::GET, "/CODE", &[HERE]), Ok("..".into()));
        assert_eq!(ask(&Method::POST, "/CODE/card", &[HERE, OWN]), Ok("card".into()));
    }

    #[test]
    fn other_names_for_this_machine_are_refused() {
        let hosts =
            ["evil.example:8000", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8000.evil.example", ""];
        for host in hosts {
            assert_eq!(
                ask(&Method::GET, "/CODE/", &[("host", host)]),
                Err(Refusal::Host),
                "{host}"
            );
        }
        assert_eq!(ask(&Method::GET, "/CODE/", &[]), Err(Refusal::Host));
        assert_eq!(ask(&Method::GET, "/CODE/", &[HERE, HERE]), Err(Refusal::Host));
        let whole = "http://127.0.0.1:8000/CODE/";
        assert_eq!(ask(&Method::GET, whole, &[HERE]), Err(Refusal::Host));
    }

    #[test]
    fn nothing_is_served_without_the_code() {
        for path in
            ["/", "/desk.js", "/card", "//CODE/", "/x/CODE/", "/CODEx/", "/%43ODE/", "/../CODE/"]
        {
            assert_eq!(ask(&Method::GET, path, &[HERE]), Err(Refusal::NoCode), "{path}");
            assert_eq!(ask(&Method::POST, path, &[HERE, OWN]), Err(Refusal::NoCode), "{path}");
        }
    }

    #[test]
    fn only_the_pages_own_script_may_send() {
        let post = |headers: &[_]| ask(&Method::POST, "/CODE/card", headers);
        for origin in
            ["http://evil.example", "null", "https://127.0.0.1:8000", "http://10.0.0.7:8000"]
        {
            assert_eq!(post(&[HERE, ("origin", origin)]), Err(Refusal::Origin), "{origin}");
        }
        assert_eq!(post(&[HERE]), Err(Refusal::Origin));
        assert_eq!(post(&[HERE, OWN, OWN]), Err(Refusal::Origin));
        let site = |site| ("sec-fetch-site", site);
        assert!(post(&[HERE, OWN, site("same-origin")]).is_ok());
        assert_eq!(post(&[HERE, OWN, site("cross-site")]), Err(Refusal::Origin));
        let get = |path, from| ask(&Method::GET, path, &[HERE, site(from)]);
        assert!(get("/CODE/", "cross-site").is_ok() && get("/CODE/", "none").is_ok());
        assert_eq!(get("/CODE/desk.js", "cross-site"), Err(Refusal::Origin));
        assert!(get("/CODE/desk.js", "same-origin").is_ok());
    }
}
