//! What this machine is called and reached at. It must not decide who may ask under which name.

use std::collections::BTreeSet;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

/// `localhost`, this machine's own name, and the same in `.local`; in small letters.
pub fn names() -> BTreeSet<String> {
    let own = std::fs::read_to_string("/proc/sys/kernel/hostname").unwrap_or_default().trim().to_lowercase();
    let local = own.split('.').next().filter(|first| !first.is_empty()).map(|first| format!("{first}.local"));
    let names = ["localhost".to_owned(), own].into_iter().chain(local);
    names.filter(|name| !name.is_empty()).collect()
}

/// The addresses of every interface that is up, loopback included.
pub fn addresses() -> BTreeSet<IpAddr> {
    let found = if_addrs::get_if_addrs().unwrap_or_default();
    let loopback = [IpAddr::V4(Ipv4Addr::LOCALHOST), IpAddr::V6(Ipv6Addr::LOCALHOST)];
    found.iter().map(if_addrs::Interface::ip).chain(loopback).collect()
}
