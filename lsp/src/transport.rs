//! Moves messages: reads them one by one, hands each to the service in the order of the wire, and writes answers and
//! the server's own messages. The protocol library's own loop is not used: it ends at the first malformed message.

use crate::frames::{self, Frame};
use crate::parent;
use crate::world::World;
use futures::{SinkExt, StreamExt};
use serde::Serialize;
use serde_json::Value;
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, AsyncWriteExt, BufReader};
use tokio::sync::mpsc;
use tokio::task::JoinSet;
use tower::Service;
use tower_lsp::ClientSocket;
use tower_lsp::jsonrpc::{Error, Id, Request, Response};

/// How many requests may wait for their answers before the next message is read.
const CONCURRENCY: usize = 64;
/// How long the last answers may take to be written once the client has said `exit`.
const FAREWELL: Duration = Duration::from_millis(500);

/// Runs until the client says `exit`, the input ends or the client's process is gone; gives the exit code.
pub(crate) async fn run<R, W, S>(reader: R, writer: W, mut service: S, socket: ClientSocket, world: &World) -> i32
where
    R: AsyncRead + Unpin,
    W: AsyncWrite + Unpin + Send + 'static,
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    let (out, outgoing) = mpsc::unbounded_channel();
    let writing = tokio::spawn(write_all(writer, outgoing));
    let (mut asked, mut answers) = socket.split();
    let own = out.clone();
    let asking = tokio::spawn(async move {
        while let Some(request) = asked.next().await {
            send(&own, &request);
        }
    });

    let mut reader = BufReader::new(reader);
    let mut running: JoinSet<()> = JoinSet::new();
    let gone = parent::gone(world.parent());
    tokio::pin!(gone);
    loop {
        let frame = tokio::select! {
            biased;
            () = &mut gone => break,
            frame = frames::next(&mut reader) => frame,
        };
        let message = match frame {
            Frame::End => break,
            Frame::Garbage => Err((Id::Null, Error::parse_error())),
            Frame::Body(body) => decode(&body),
        };
        match message {
            Ok(Incoming::Nothing) => {}
            Ok(Incoming::Request(request)) => {
                let last = request.method() == "exit" && request.id().is_none();
                while running.len() >= CONCURRENCY {
                    running.join_next().await;
                }
                while running.try_join_next().is_some() {}
                // The service takes effect as it is called; only its answer is waited for beside this loop.
                let answer = service.call(request);
                if last {
                    break;
                }
                let out = out.clone();
                running.spawn(async move {
                    if let Ok(Some(response)) = answer.await {
                        send(&out, &response);
                    }
                });
            }
            Ok(Incoming::Response(response)) => {
                // An answer to a question nobody asked is dropped by the sink.
                let _ = answers.send(response).await;
            }
            Err((id, error)) => send(&out, &Response::from_error(id, error)),
        }
    }
    let code = i32::from(!world.is_shut_down());
    running.shutdown().await;
    asking.abort();
    let _ = asking.await;
    drop((out, service));
    world.end();
    let _ = tokio::time::timeout(FAREWELL, writing).await;
    code
}

enum Incoming {
    Request(Request),
    Response(Response),
    Nothing,
}

/// Reads one message; what is wrong with it goes back to the client as an error of the protocol.
fn decode(body: &[u8]) -> Result<Incoming, (Id, Error)> {
    if body.iter().all(u8::is_ascii_whitespace) {
        return Ok(Incoming::Nothing);
    }
    let value: Value = serde_json::from_slice(body).map_err(|_| (Id::Null, Error::parse_error()))?;
    let id = match value.get("id") {
        Some(Value::Number(number)) => number.as_i64().map_or(Id::Null, Id::Number),
        Some(Value::String(text)) => Id::String(text.clone()),
        _ => Id::Null,
    };
    let refuse = |id: Id| (id, Error::invalid_request());
    if value.get("method").is_some_and(Value::is_string) {
        let request: Request = serde_json::from_value(value).map_err(|_| refuse(id))?;
        Ok(Incoming::Request(request))
    } else if value.get("result").is_some() || value.get("error").is_some() {
        // A malformed answer answers nothing; an error sent for it would be an answer to an answer.
        Ok(serde_json::from_value(value).map_or(Incoming::Nothing, Incoming::Response))
    } else {
        Err(refuse(id))
    }
}

fn send<T: Serialize>(out: &mpsc::UnboundedSender<Vec<u8>>, message: &T) {
    let Ok(body) = serde_json::to_vec(message) else { return };
    let mut bytes = format!("Content-Length: {}\r\n\r\n", body.len()).into_bytes();
    bytes.extend_from_slice(&body);
    // The writer is gone only where the client no longer reads.
    let _ = out.send(bytes);
}

async fn write_all<W: AsyncWrite + Unpin>(mut writer: W, mut outgoing: mpsc::UnboundedReceiver<Vec<u8>>) {
    while let Some(mut bytes) = outgoing.recv().await {
        while let Ok(more) = outgoing.try_recv() {
            bytes.extend_from_slice(&more);
        }
        if writer.write_all(&bytes).await.is_err() || writer.flush().await.is_err() {
            return;
        }
    }
}
