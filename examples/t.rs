use drywire::lugs::*;
use drywire::wiring::*;
fn main() {
    for name in ["on-on", "on-on-on"] {
        let sw = Switch::named(name).unwrap();
        let n = sw.throws().len();
        let words: Vec<Asked> = Asked::all().take(9).collect();
        for i in 0..words.len().pow(n as u32) {
            let mut k = i;
            let mut a = vec![];
            for _ in 0..n {
                a.push(words[k % words.len()]);
                k /= words.len();
            }
            let w = Wanted::new(sw, a).unwrap();
            let f = w.fewest();
            if f.plans.is_empty() && (n == 2 || i % 40 == 0) {
                let t = std::time::Instant::now();
                let alt = w.alternatives();
                let re = w.rearranged();
                println!(
                    "{name} {:?}: alternatives {:?}, orders {} {:?}",
                    w.asked().iter().map(|x| x.to_string()).collect::<Vec<_>>(),
                    alt.iter()
                        .map(|a| format!(
                            "{} {}",
                            a.switch(),
                            a.asked().iter().map(|x| x.to_string()).collect::<Vec<_>>().join(",")
                        ))
                        .collect::<Vec<_>>(),
                    re.len(),
                    t.elapsed()
                );
            }
        }
    }
}
