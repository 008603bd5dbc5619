//! Map tiles from a server that somebody named and agreed to: the only place that asks the network.

use crate::ui::notice::Trouble;
use std::time::Duration;
use ureq::tls::{RootCerts, TlsConfig};
use yardring_core::place::WebTile;

/// Most bytes of one tile.
const MOST_BYTES: u64 = 8 << 20;
/// How long a server may take for one tile.
const PATIENCE: Duration = Duration::from_secs(10);

/// A server of map tiles.
#[derive(Clone, Debug)]
pub struct Online {
    address: String,
    host: String,
    attribution: String,
    agent: ureq::Agent,
}

impl Online {
    /// A server by its tile address, such as `https://tiles.example.org/{z}/{x}/{y}.png`, and the words that its tiles ask for
    /// on the map. Nothing is asked of it yet.
    ///
    /// # Errors
    /// [`Trouble`] when the address is none, or leaves out where zoom, column and row go.
    ///
    /// ```
    /// use yardring::online::Online;
    /// assert!(Online::new("https://tiles.example.org/{z}/{x}/{y}.png", "").is_ok());
    /// assert!(Online::new("https://tiles.example.org/", "").is_err());
    /// ```
    pub fn new(address: &str, attribution: &str) -> Result<Self, Trouble> {
        let address = address.trim().to_owned();
        let wrong =
            |what: &str| Trouble { what: what.to_owned(), hint: "write it as https://tiles.example.org/{z}/{x}/{y}.png".to_owned() };
        let rest = address.strip_prefix("https://").or_else(|| address.strip_prefix("http://"));
        let host = rest.and_then(|r| r.split(['/', '?']).next()).filter(|h| !h.is_empty() && !h.contains(['{', ' ']));
        let host = host.ok_or_else(|| wrong("a tile address begins with https:// and the name of a server"))?.to_owned();
        if let Some(missing) = ["{z}", "{x}", "{y}"].into_iter().find(|part| !address.contains(part)) {
            return Err(wrong(&format!("the tile address has no {missing}, where zoom, column or row go")));
        }
        let attribution = if attribution.trim().is_empty() { format!("tiles from {host}") } else { attribution.trim().to_owned() };
        // The computer's own list of who may vouch for a server: an office whose network looks into https has its own voucher there.
        let tls = TlsConfig::builder().root_certs(RootCerts::PlatformVerifier).build();
        let config = ureq::Agent::config_builder()
            .tls_config(tls)
            .timeout_global(Some(PATIENCE))
            .http_status_as_error(false)
            .user_agent(concat!("Yardring/", env!("CARGO_PKG_VERSION"), " (mosquito-control office map)"))
            .build();
        Ok(Self { address, host, attribution, agent: config.into() })
    }

    /// The tile address as it was typed.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// The server's name.
    pub fn host(&self) -> &str {
        &self.host
    }

    /// The words that go on the map.
    pub fn attribution(&self) -> &str {
        &self.attribution
    }

    /// The bytes of a tile; `None` where the server has none. Waits for the server: for use inside a job.
    ///
    /// # Errors
    /// [`Trouble`] when the server cannot be reached, takes too long, or answers anything but a tile.
    pub fn tile(&self, tile: WebTile) -> Result<Option<Vec<u8>>, Trouble> {
        let numbers = [("{z}", u32::from(tile.zoom)), ("{x}", tile.column), ("{y}", tile.row)];
        let url = numbers.iter().fold(self.address.clone(), |url, (part, number)| url.replace(part, &number.to_string()));
        let failed = |what: String| Trouble {
            what: format!("the ground is switched off: {} {what}", self.host),
            hint: "check the network and the tile address, then switch it on again".to_owned(),
        };
        let mut answer = self.agent.get(&url).call().map_err(|e| failed(format!("cannot be reached ({e})")))?;
        match answer.status().as_u16() {
            200 => {
                answer.body_mut().with_config().limit(MOST_BYTES).read_to_vec().map(Some).map_err(|e| failed(format!("broke off ({e})")))
            }
            204 | 404 => Ok(None),
            other => Err(failed(format!("answered with status {other}"))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_that_is_none_is_told_how_to_write_it() {
        for (address, words) in [
            ("tiles.example.org/{z}/{x}/{y}", "begins with https://"),
            ("https:///{z}/{x}/{y}", "begins with https://"),
            ("https://{z}.example.org/{x}/{y}", "begins with https://"),
            ("https://tiles.example.org/{z}/{x}.png", "no {y}"),
        ] {
            let trouble = Online::new(address, "").unwrap_err();
            assert!(trouble.what.contains(words) && trouble.hint.contains("{z}/{x}/{y}"), "{address}: {trouble:?}");
        }
    }

    #[test]
    fn somebody_is_always_named() {
        let named = |words| Online::new(" https://tiles.example.org/{z}/{x}/{y}.png ", words).unwrap().attribution().to_owned();
        assert_eq!((named(""), named(" The makers ")), ("tiles from tiles.example.org".to_owned(), "The makers".to_owned()));
    }
}
