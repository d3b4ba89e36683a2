//! One page as a browser shows it.

use std::path::PathBuf;
use std::thread;
use std::time::{Duration, Instant};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::{Value, json};

use crate::BrowserError;
use crate::connection::Connection;

/// How a page is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Width in CSS pixels.
    pub width: u32,
    /// Height in CSS pixels.
    pub height: u32,
    /// Device pixels to a CSS pixel.
    pub scale: f64,
    /// Whether the reader likes it dark.
    pub dark: bool,
    /// Whether the page's script runs.
    pub script: bool,
    /// Whether it is laid out as printed.
    pub print: bool,
}

impl Default for View {
    fn default() -> Self {
        Self { width: 1280, height: 900, scale: 1.0, dark: false, script: true, print: false }
    }
}

/// Something in the accessibility tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// Its role, as in `image` or `heading`.
    pub role: String,
    /// Its name; empty if it has none.
    pub name: String,
}

/// A page that is open; it is closed with this value.
#[derive(Debug)]
pub struct Page<'a> {
    connection: &'a mut Connection,
    session: String,
    target: String,
    complaints: Vec<String>,
    requests: Vec<String>,
}

impl<'a> Page<'a> {
    pub(crate) fn load(
        connection: &'a mut Connection,
        session: String,
        target: String,
        url: &str,
        view: View,
    ) -> Result<Self, BrowserError> {
        let (complaints, requests) = (Vec::new(), Vec::new());
        let mut page = Self { connection, session, target, complaints, requests };
        for domain in ["Page", "Runtime", "Log", "Network"] {
            page.call(&format!("{domain}.enable"), json!({}))?;
        }
        page.look(view)?;
        page.call("Page.navigate", json!({"url": url}))?;
        page.connection.wait_for(&page.session, "Page.loadEventFired")?;
        Ok(page)
    }

    /// Looks at the page in another way; script is switched off only for pages loaded after it.
    ///
    /// # Errors
    /// [`BrowserError`] if the browser goes away or refuses.
    pub fn look(&mut self, view: View) -> Result<(), BrowserError> {
        let View { width, height, scale, .. } = view;
        self.call(
            "Emulation.setDeviceMetricsOverride",
            json!({"width": width, "height": height, "deviceScaleFactor": scale, "mobile": false}),
        )?;
        let scheme = if view.dark { "dark" } else { "light" };
        self.call(
            "Emulation.setEmulatedMedia",
            json!({
                "media": if view.print { "print" } else { "screen" },
                "features": [{"name": "prefers-color-scheme", "value": scheme}],
            }),
        )?;
        let off = json!({"value": !view.script});
        self.call("Emulation.setScriptExecutionDisabled", off)?;
        Ok(())
    }

    /// The value of an expression in the page; of a promise what it comes to.
    ///
    /// # Errors
    /// [`BrowserError::Script`] if it throws.
    pub fn evaluate(&mut self, expression: &str) -> Result<Value, BrowserError> {
        let asked = json!({"expression": expression, "returnByValue": true, "awaitPromise": true});
        let mut answer = self.call("Runtime.evaluate", asked)?;
        match answer["exceptionDetails"].take() {
            Value::Null => Ok(answer["result"]["value"].take()),
            thrown => Err(BrowserError::Script(thrown.to_string())),
        }
    }

    /// Puts files into a file input, as a reader does who chooses them.
    ///
    /// # Errors
    /// [`BrowserError`] if there is no such input, or the browser goes away.
    pub fn choose_files(&mut self, selector: &str, files: &[PathBuf]) -> Result<(), BrowserError> {
        let document = self.call("DOM.getDocument", json!({"depth": 0}))?;
        let asked = json!({"nodeId": document["root"]["nodeId"], "selector": selector});
        let found = self.call("DOM.querySelector", asked)?;
        let chosen = json!({"nodeId": found["nodeId"], "files": files});
        self.call("DOM.setFileInputFiles", chosen)?;
        Ok(())
    }

    /// Drags files and folders from outside over the middle of an element, and drops them there.
    ///
    /// # Errors
    /// [`BrowserError`] if there is no such element, or the browser goes away.
    pub fn drop_files(&mut self, selector: &str, files: &[PathBuf]) -> Result<(), BrowserError> {
        let found = self.evaluate(&format!(
            "(() => {{ const e = document.querySelector({selector:?}); e.scrollIntoView({{block: 'center'}});
                const b = e.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; }})()"
        ))?;
        for kind in ["dragEnter", "dragOver", "drop"] {
            let dragged = json!({"items": [], "files": files, "dragOperationsMask": 1});
            let asked = json!({"type": kind, "x": found[0], "y": found[1], "data": dragged});
            self.call("Input.dispatchDragEvent", asked)?;
        }
        Ok(())
    }

    /// Presses and releases a key that has a name: `Tab` or `ArrowDown`.
    ///
    /// # Errors
    /// [`BrowserError`] if the browser goes away or refuses.
    pub fn press(&mut self, key: &str) -> Result<(), BrowserError> {
        let code = match key {
            "Tab" => 9,
            "ArrowDown" => 40,
            _ => 0,
        };
        let mut asked =
            json!({"type": "keyDown", "key": key, "code": key, "windowsVirtualKeyCode": code});
        self.call("Input.dispatchKeyEvent", asked.clone())?;
        asked["type"] = "keyUp".into();
        self.call("Input.dispatchKeyEvent", asked)?;
        Ok(())
    }

    /// Takes the network away from the page, or gives it back.
    ///
    /// # Errors
    /// [`BrowserError`] if the browser goes away or refuses.
    pub fn offline(&mut self, offline: bool) -> Result<(), BrowserError> {
        let asked = json!({
            "offline": offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1,
        });
        self.call("Network.emulateNetworkConditions", asked)?;
        Ok(())
    }

    /// Waits until an expression in the page is true.
    ///
    /// # Errors
    /// [`BrowserError::Script`] if it throws, or does not become true in a minute.
    pub fn wait_until(&mut self, expression: &str) -> Result<(), BrowserError> {
        let begun = Instant::now();
        while self.evaluate(&format!("!!({expression})"))? != true {
            if begun.elapsed() > Duration::from_secs(60) {
                let text = self.evaluate("document.body.innerText")?;
                let text = text.as_str().unwrap_or_default();
                return Err(BrowserError::Script(format!("never: {expression}\n{text}")));
            }
            thread::sleep(Duration::from_millis(50));
        }
        Ok(())
    }

    /// Everything that the page's console, its script or its policy has complained of so far.
    pub fn complaints(&mut self) -> &[String] {
        self.listen();
        &self.complaints
    }

    /// Every address that was asked for so far, the page's own first.
    pub fn requests(&mut self) -> &[String] {
        self.listen();
        &self.requests
    }

    /// What a screen reader is told of, in the order of the page.
    ///
    /// # Errors
    /// [`BrowserError`] if the browser goes away or refuses.
    pub fn accessible(&mut self) -> Result<Vec<Named>, BrowserError> {
        let tree = self.call("Accessibility.getFullAXTree", json!({}))?;
        let text = |value: &Value| value["value"].as_str().unwrap_or_default().to_owned();
        let nodes = tree["nodes"].as_array().into_iter().flatten();
        let told = nodes.filter(|node| node["ignored"] != true);
        Ok(told
            .map(|node| Named { role: text(&node["role"]), name: text(&node["name"]) })
            .collect())
    }

    /// The whole page, or its part from the top of so many CSS pixels, as PNG.
    ///
    /// # Errors
    /// [`BrowserError`] if the browser goes away or refuses.
    pub fn screenshot(&mut self, height: Option<u32>) -> Result<Vec<u8>, BrowserError> {
        let metrics = self.call("Page.getLayoutMetrics", json!({}))?;
        let size = &metrics["cssContentSize"];
        let whole = size["height"].as_f64().unwrap_or_default();
        let height = height.map_or(whole, |height| f64::from(height).min(whole));
        let clip = json!({"x": 0, "y": 0, "width": size["width"], "height": height, "scale": 1});
        let asked = json!({"format": "png", "captureBeyondViewport": true, "clip": clip});
        let answer = self.call("Page.captureScreenshot", asked)?;
        decoded(&answer["data"])
    }

    /// The page as printed, `width` and `height` of the paper in inches: a PDF file.
    ///
    /// # Errors
    /// [`BrowserError`] if the browser goes away or refuses.
    pub fn printed(&mut self, [width, height]: [f64; 2]) -> Result<Vec<u8>, BrowserError> {
        let asked = json!({
            "paperWidth": width, "paperHeight": height, "preferCSSPageSize": false,
            "printBackground": false,
        });
        let answer = self.call("Page.printToPDF", asked)?;
        decoded(&answer["data"])
    }

    fn call(&mut self, method: &str, parameters: Value) -> Result<Value, BrowserError> {
        self.connection.call(Some(&self.session), method, parameters)
    }

    fn listen(&mut self) {
        for event in self.connection.events_of(&self.session) {
            let parameters = &event["params"];
            match event["method"].as_str().unwrap_or_default() {
                "Runtime.consoleAPICalled" => {
                    let kind = parameters["type"].as_str().unwrap_or_default();
                    if matches!(kind, "error" | "warning" | "assert") {
                        self.complaints.push(parameters["args"].to_string());
                    }
                }
                "Runtime.exceptionThrown" => {
                    self.complaints.push(parameters["exceptionDetails"].to_string());
                }
                "Log.entryAdded" => {
                    let entry = &parameters["entry"];
                    if matches!(entry["level"].as_str(), Some("error" | "warning")) {
                        self.complaints.push(entry["text"].to_string());
                    }
                }
                "Network.requestWillBeSent" => {
                    let url = parameters["request"]["url"].as_str().unwrap_or_default();
                    self.requests.push(url.to_owned());
                }
                _ => {}
            }
        }
    }
}

impl Drop for Page<'_> {
    fn drop(&mut self) {
        let target = json!({"targetId": self.target});
        // A browser that has gone has closed it.
        let _ = self.connection.call(None, "Target.closeTarget", target);
    }
}

fn decoded(data: &Value) -> Result<Vec<u8>, BrowserError> {
    let text = data.as_str().unwrap_or_default();
    STANDARD.decode(text).map_err(|error| BrowserError::Connection(error.to_string()))
}
