use lugwise::readings::*;
use lugwise::*;
use std::time::Instant;
#[test]
fn explore() {
    for (name, text) in circuit::built_in() {
        let t = Instant::now();
        let trees: Vec<_> = trees::built_in()
            .iter()
            .map(|(n, t)| trees::load(&source::Source::new(*n, *t)).unwrap())
            .collect();
        let engine =
            match workbench::Engine::new(&source::Source::new(*name, *text), Meter::ordinary(), &trees) {
                Ok(e) => e,
                Err(e) => {
                    println!("{e}");
                    continue;
                }
            };
        println!(
            "{name}: nodes {} elements {} faults {} states {} hyps {} rows {} cands {} decisions {} time {:?}",
            engine.model.network.nodes,
            engine.model.network.elements.len(),
            engine.model.catalogue.faults.len(),
            engine.model.hypotheses.states.len(),
            engine.model.hypotheses.list.len(),
            engine.candidates.rows.len(),
            engine.candidates.list.len(),
            engine.groups.decisions.len(),
            t.elapsed()
        );
        let t = Instant::now();
        let c = engine.model.candidates().unwrap();
        println!("candidates {:?}", t.elapsed());
        let t = Instant::now();
        let _ = engine.model.audible().unwrap();
        println!("audible {:?}", t.elapsed());
        let t = Instant::now();
        let _ = advisor::Groups::new(&engine.model, &c, engine.meter);
        println!("groups {:?}", t.elapsed());
        for d in 0..engine.groups.decisions.len() {
            let f = engine.groups.faults(&engine.model, d);
            println!("  D{d}: {:?}", f.iter().map(|f| &engine.model.catalogue[*f].id).collect::<Vec<_>>());
        }
        let m = Measurement {
            mode: Mode::Resistance,
            red: "plug.tip".into(),
            black: "plug.sleeve".into(),
            setting: Setting::reference(engine.harness()),
            flex: None,
        };
        println!("{:?}", engine.healthy(&m));
        let mut b = belief::Belief::prior(&engine.model);
        b.hear(&engine.model.complaint_likelihood(&engine.audible, Symptom::Silent));
        let t = Instant::now();
        let p = advisor::propose(
            &engine.model,
            &engine.candidates,
            &engine.groups,
            &b,
            engine.meter,
            &advisor::Circumstances { access: Access::MayOpen, stand: Default::default(), spent: &[] },
        );
        println!("propose {:?}", t.elapsed());
        for q in p.iter().take(6) {
            println!(
                "   {:.3} bits {:.0} s {}",
                q.bits,
                q.seconds,
                engine.candidates.list[q.candidate].measurement.sentence(engine.harness())
            );
        }
        let fp = b.fault_probabilities(&engine.model);
        let mut idx: Vec<_> = (0..fp.len()).collect();
        idx.sort_by(|a, b| fp[*b].total_cmp(&fp[*a]));
        for i in idx.iter().take(12) {
            println!("   {:.3} {}", fp[*i], engine.model.catalogue.faults[*i].id);
        }
    }
}
