//! A client of the server, in the same process, over the bytes of the wire. It knows messages, not their meaning.

use serde_json::{Value, json};
use std::collections::{HashMap, VecDeque};
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader, DuplexStream};
use tokio::sync::mpsc;

/// A wait long enough for a busy machine; a test that meets it has failed.
const LONGEST_WAIT: Duration = Duration::from_secs(60);

pub(crate) struct Wire {
    out: mpsc::UnboundedSender<Vec<u8>>,
    messages: mpsc::UnboundedReceiver<Value>,
    /// Notifications and requests of the server, in order of arrival.
    pub(crate) heard: VecDeque<Value>,
    answers: HashMap<i64, Value>,
    last: i64,
    server: std::thread::JoinHandle<i32>,
}

/// Runs a test on a runtime of its own.
pub(crate) fn run<F: std::future::Future>(test: F) -> F::Output {
    tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap().block_on(test)
}

impl Wire {
    /// Starts a server; nothing is said yet.
    pub(crate) fn start() -> Wire {
        let (client, server_reads) = tokio::io::duplex(1 << 14);
        let (server_writes, reads) = tokio::io::duplex(1 << 14);
        let server = std::thread::spawn(move || run(trialfit_lsp::serve(server_reads, server_writes)));
        let (out, outgoing) = mpsc::unbounded_channel();
        tokio::spawn(write_all(client, outgoing));
        let (incoming, messages) = mpsc::unbounded_channel();
        tokio::spawn(read_all(reads, incoming));
        Wire { out, messages, heard: VecDeque::new(), answers: HashMap::new(), last: 0, server }
    }

    /// Starts a server and shakes hands.
    pub(crate) async fn greet(params: Value) -> (Wire, Value) {
        let mut wire = Wire::start();
        let answer = wire.ask("initialize", params).await;
        wire.tell("initialized", json!({}));
        (wire, answer["result"]["capabilities"].clone())
    }

    /// Sends bytes as they are.
    pub(crate) fn raw(&self, bytes: &[u8]) {
        self.out.send(bytes.to_vec()).unwrap();
    }

    fn send(&self, message: &Value) {
        let body = message.to_string();
        self.raw(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes());
    }

    /// Sends a notification.
    pub(crate) fn tell(&self, method: &str, params: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    /// Sends a request; its number.
    pub(crate) fn post(&mut self, method: &str, params: Value) -> i64 {
        self.last += 1;
        let mut message = json!({ "jsonrpc": "2.0", "id": self.last, "method": method });
        if !params.is_null() {
            message["params"] = params;
        }
        self.send(&message);
        self.last
    }

    /// The next message; questions of the server are answered with null.
    pub(crate) async fn next(&mut self) -> Option<Value> {
        let message = tokio::time::timeout(LONGEST_WAIT, self.messages.recv()).await.expect("the server says nothing");
        if let Some(message) = &message
            && message.get("method").is_some()
            && message.get("id").is_some()
        {
            self.send(&json!({ "jsonrpc": "2.0", "id": message["id"], "result": null }));
        }
        message
    }

    /// The answer to a request.
    pub(crate) async fn answer(&mut self, number: i64) -> Value {
        loop {
            if let Some(answer) = self.answers.remove(&number) {
                return answer;
            }
            let message = self.next().await.expect("the server has gone");
            match message.get("id").and_then(Value::as_i64).filter(|_| message.get("method").is_none()) {
                Some(number) => drop(self.answers.insert(number, message)),
                None => self.heard.push_back(message),
            }
        }
    }

    /// Sends a request and waits for its whole answer.
    pub(crate) async fn ask(&mut self, method: &str, params: Value) -> Value {
        let number = self.post(method, params);
        self.answer(number).await
    }

    /// Sends a request and waits for its result, which must not be an error.
    pub(crate) async fn result(&mut self, method: &str, params: Value) -> Value {
        let answer = self.ask(method, params).await;
        assert!(answer.get("error").is_none(), "{method}: {answer}");
        answer["result"].clone()
    }

    /// The next message of the server with that method.
    pub(crate) async fn hear(&mut self, method: &str) -> Value {
        let mut passed = 0;
        loop {
            while passed < self.heard.len() {
                if self.heard[passed]["method"] == method {
                    return self.heard.remove(passed).unwrap();
                }
                passed += 1;
            }
            let message = self.next().await.expect("the server has gone");
            self.heard.push_back(message);
        }
    }

    /// The findings published for a document at a version.
    pub(crate) async fn published(&mut self, uri: &str, version: Option<i64>) -> Vec<Value> {
        loop {
            let message = self.hear("textDocument/publishDiagnostics").await;
            let params = &message["params"];
            if params["uri"] == uri && params["version"].as_i64() == version {
                return params["diagnostics"].as_array().unwrap().clone();
            }
        }
    }

    pub(crate) fn open(&self, uri: &str, version: i64, text: &str) {
        let document = json!({ "uri": uri, "languageId": "trialfit", "version": version, "text": text });
        self.tell("textDocument/didOpen", json!({ "textDocument": document }));
    }

    pub(crate) fn change(&self, uri: &str, version: i64, changes: Value) {
        let document = json!({ "uri": uri, "version": version });
        self.tell("textDocument/didChange", json!({ "textDocument": document, "contentChanges": changes }));
    }

    pub(crate) fn close(&self, uri: &str) {
        self.tell("textDocument/didClose", json!({ "textDocument": { "uri": uri } }));
    }

    /// Says nothing more, and waits for the server's exit code.
    pub(crate) async fn end(self) -> i32 {
        let Wire { out, server, messages: _messages, .. } = self;
        drop(out);
        code(server).await
    }

    /// Waits for the server's exit code with the wire left open.
    pub(crate) async fn code_while_open(self) -> i32 {
        let Wire { out: _open, server, messages: _messages, .. } = self;
        code(server).await
    }
}

async fn code(server: std::thread::JoinHandle<i32>) -> i32 {
    let since = std::time::Instant::now();
    while !server.is_finished() {
        assert!(since.elapsed() < LONGEST_WAIT, "the server does not end");
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
    server.join().unwrap()
}

async fn write_all(mut client: DuplexStream, mut outgoing: mpsc::UnboundedReceiver<Vec<u8>>) {
    while let Some(bytes) = outgoing.recv().await {
        if client.write_all(&bytes).await.is_err() {
            return;
        }
    }
}

async fn read_all(reads: DuplexStream, incoming: mpsc::UnboundedSender<Value>) {
    let mut reads = BufReader::new(reads);
    loop {
        let (mut length, mut line) = (0, String::new());
        loop {
            line.clear();
            if reads.read_line(&mut line).await.unwrap_or(0) == 0 {
                return;
            }
            match line.trim_end().split_once(": ") {
                Some(("Content-Length", value)) => length = value.parse().unwrap(),
                _ if line.trim_end().is_empty() => break,
                _ => panic!("a header nobody asked for: {line}"),
            }
        }
        let mut body = vec![0; length];
        reads.read_exact(&mut body).await.unwrap();
        let _ = incoming.send(serde_json::from_slice(&body).unwrap());
    }
}
