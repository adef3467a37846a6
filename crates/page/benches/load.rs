//! Twenty people at once change a fact each second and look at the new picture: `cargo bench -p page --bench load`.
//!
//! Prints how long a change took until the whole new page was there (the form sent, the redirect followed, every byte
//! read, over the loopback network), how long the first page took from an opened book, and how much memory is resident.
//! It measures; it does not judge: the aims are 100 ms at the 99th percentile, 300 ms and 150 MiB.

use jobbook::{Book, By, Kind, NewJob};
use page::{App, Options};
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};

const PEOPLE: usize = 20;
const CHANGES: usize = 15;
const JOB: &str = include_str!("../../../demo/0117-bread-longtail.toml");
const RACK: &str = include_str!("../../../demo/rack.toml");

async fn ask(address: std::net::SocketAddr, method: &str, path: &str, body: &str) -> String {
    let mut socket = TcpStream::connect(address).await.expect("a connection");
    let request = format!(
        "{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nCookie: who=Load; device=load\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    socket.write_all(request.as_bytes()).await.expect("sent");
    let mut answer = Vec::new();
    socket.read_to_end(&mut answer).await.expect("an answer");
    String::from_utf8_lossy(&answer).into_owned()
}

fn resident_mib() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM:")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|n| n.parse::<f64>().ok()).unwrap_or(f64::NAN) / 1024.0
}

fn main() {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("a runtime");
    runtime.block_on(run());
}

async fn run() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("load.book");
    {
        let book = Book::open(&path).expect("a book");
        let by = By::new("Load", "load");
        book.set_document("rack", RACK, 0, &by).expect("a rack");
        for i in 0..PEOPLE {
            let text = JOB.replacen("0117", &format!("{:04}", 200 + i), 1);
            book.new_job(&NewJob { kind: Kind::Convert, of: None, text: &text }, &by).expect("a job");
        }
    }
    let start = Instant::now();
    let book = Book::open(&path).expect("a book");
    let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
    let address = listener.local_addr().expect("an address");
    let app = App::new(book, Options { listen: address, hosts: Vec::new(), passphrase: None, demo: false });
    let router = page::router(app.expect("a workbench"));
    tokio::spawn(async move { axum::serve(listener, router).await });
    let first = ask(address, "GET", "/bikes/0200/holds", "").await;
    assert!(first.starts_with("HTTP/1.1 200"), "{first}");
    println!("first picture after {:.0} ms", start.elapsed().as_secs_f64() * 1e3);
    let began = Instant::now();
    let stand = ask(address, "GET", "/", "").await;
    assert!(stand.starts_with("HTTP/1.1 200"));
    println!(
        "the stand with {PEOPLE} bikes that were never worked out after {:.0} ms",
        began.elapsed().as_secs_f64() * 1e3
    );

    let people: Vec<_> = (0..PEOPLE)
        .map(|p| {
            tokio::spawn(async move {
                let mut taken = Vec::new();
                // Nobody presses in step with anybody.
                tokio::time::sleep(Duration::from_millis(50 * p as u64)).await;
                let bike = 200 + p;
                for i in 0..CHANGES {
                    let torque = 60.0 + 0.1 * (p * CHANGES + i) as f64;
                    let form = format!(
                        "f.axle.left.nut_torque={torque:.1}&u.axle.left.nut_torque=N%C2%B7m&how=W2&change=load-{p}-{i}-{torque}"
                    );
                    let began = Instant::now();
                    let sent = ask(address, "POST", &format!("/bikes/{bike:04}/facts"), &form).await;
                    assert!(sent.starts_with("HTTP/1.1 303"), "{sent}");
                    let page = ask(address, "GET", &format!("/bikes/{bike:04}/holds"), "").await;
                    assert!(page.contains("load-path"), "no picture");
                    taken.push(began.elapsed().as_secs_f64() * 1e3);
                    tokio::time::sleep(Duration::from_millis(1000)).await;
                }
                taken
            })
        })
        .collect();
    let mut all = Vec::new();
    for person in people {
        all.extend(person.await.expect("a person"));
    }
    all.sort_by(f64::total_cmp);
    let at = |share: f64| all[((all.len() - 1) as f64 * share).round() as usize];
    println!(
        "{} changes by {PEOPLE} people: median {:.0} ms, 95th percentile {:.0} ms, 99th {:.0} ms, worst {:.0} ms",
        all.len(),
        at(0.5),
        at(0.95),
        at(0.99),
        at(1.0)
    );
    println!("resident at most {:.0} MiB", resident_mib());
}
