use drywire::lugs::*;
use drywire::wiring::*;
fn main() {
    for sw in Switch::built_in() {
        let n = sw.throws().len();
        let words: Vec<Asked> = Asked::all().collect();
        let total = words.len().pow(n as u32);
        let t0 = std::time::Instant::now();
        let mut worst = (0.0, String::new(), 0u64);
        let mut possible = 0;
        let mut maxsol = (0, String::new());
        for i in 0..total {
            let mut k = i;
            let mut a = vec![];
            for _ in 0..n {
                a.push(words[k % words.len()]);
                k /= words.len();
            }
            let name = format!("{}", a.iter().map(|x| x.to_string()).collect::<Vec<_>>().join(","));
            let w = Wanted::new(sw, a).unwrap();
            let t = std::time::Instant::now();
            let f = w.fewest();
            let dt = t.elapsed().as_secs_f64();
            if !f.plans.is_empty() {
                possible += 1;
            }
            if f.plans.len() > maxsol.0 {
                maxsol = (f.plans.len(), name.clone());
            }
            if dt > worst.0 {
                worst = (dt, name.clone(), f.searched);
            }
            if name == "series,parallel"
                || name == "series,split"
                || name == "series,split-a,parallel"
                || name == "parallel,series"
                || name == "split,series,split"
            {
                println!(
                    "{sw} {name}: {} plans, joints {:?}, searched {} of {}, {dt:.4}s",
                    f.plans.len(),
                    f.plans.first().map(|p| p.joints()),
                    f.searched,
                    w.ways()
                );
            }
        }
        println!(
            "{sw}: {possible}/{total} possible, {:.2}s total, worst {worst:?}, max solutions {maxsol:?}",
            t0.elapsed().as_secs_f64()
        );
    }
}
