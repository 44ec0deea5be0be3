"""The same network for a general circuit simulator, written from the two-axis equations, not from our matrices."""
import re
import subprocess

import numpy as np


def netlist(circuit, mask, *, start=None, phase=0.0, closing=None):
    """Lines of the network with the contacts of `mask` closed. `start` is our state vector: initial conditions.

    `closing` = (contact, time) adds an ideal switch in that contact that closes at a time (parallel layout).
    """
    motor, regulator = circuit.motor, circuit.regulator
    omega, ratio = motor.angular_frequency, motor.turns_ratio
    lm = motor.magnetising_reactance / omega
    main, aux = motor.main_reactance / omega + lm, motor.auxiliary_reactance / omega + ratio ** 2 * lm
    rotor = motor.rotor_reactance / omega + lm
    turning = motor.poles / 2 * circuit.speed
    initial = (lambda place: f" ic={start[place]:.15g}") if start is not None else (lambda place: "")
    amplitude = np.sqrt(2) * circuit.supply
    lines = ["* fan", f"Vs sup 0 dc 0 ac {circuit.supply:.12g} sin(0 {amplitude:.12g} {motor.frequency:.12g} 0 0 "
             f"{np.degrees(phase) + 90:.12g})", "Vline sup feed 0"]
    if regulator.layout == "parallel":
        for place, branch in enumerate(regulator.branches):
            timed = closing is not None and closing[0] == place
            if not (mask >> place & 1 or timed):
                continue
            if timed:
                lines += [f"Vctl{place} ctl{place} 0 pwl(0 0 {closing[1]:.12g} 0 {closing[1] + 1e-9:.12g} 1)",
                          f"S{place} feed k{place} ctl{place} 0 sw", f".model sw sw(vt=0.5 vh=0 ron={circuit.contact} roff=1e9)"]
            else:
                lines.append(f"Rk{place} feed k{place} {circuit.contact:.12g}")
            lines.append(f"Vk{place} k{place} c{place} 0")
            if branch.is_link:
                lines.append(f"Rd{place} c{place} mot {max(branch.resistance, 1e-6):.12g}")
            else:
                lines += [f"C{place} c{place} d{place} {branch.capacitance:.15g}{initial(5 + place)}",
                          f"Rb{place} c{place} d{place} {branch.bleed:.12g}", f"Rd{place} d{place} mot {branch.resistance:.12g}"]
    else:
        node = "s0"
        lines.append(f"Rk feed s0 {circuit.contact:.12g}")
        for place, branch in enumerate(regulator.branches):
            after = f"s{place + 1}"
            lines += [f"C{place} {node} d{place} {branch.capacitance:.15g}{initial(5 + place)}",
                      f"Rb{place} {node} d{place} {branch.bleed:.12g}", f"Rd{place} d{place} {after} {branch.resistance:.12g}"]
            if mask >> (place + 1) & 1:
                lines += [f"Vk{place + 1} {node} b{place} 0", f"Rk{place + 1} b{place} {after} {circuit.contact:.12g}"]
            node = after
        lines.append(f"Vend {node} mot 0")
    lines += [
        f"Rfe mot 0 {motor.core_resistance:.12g}",
        f"Rm mot m1 {motor.main_resistance:.12g}", "Vm m1 m2 0", f"Lm m2 0 {main:.15g}{initial(0)}",
        f"Crun mot a1 {motor.run_capacitance:.15g}{initial(4)}",
        f"Ra a1 a2 {motor.auxiliary_resistance + motor.run_capacitor_resistance:.12g}", "Va a2 a3 0",
        f"La a3 0 {aux:.15g}{initial(1)}",
        # rotor loops: 0 = R2 i + d(flux)/dt -/+ (p/2) w (flux of the other axis)
        f"Lr1 0 p1 {rotor:.15g}{initial(2)}", f"Rr1 p1 p2 {motor.rotor_resistance:.12g}", "Vr1 p2 p3 0",
        f"H11 p3 p4 Vr2 {-turning * rotor:.15g}", f"H12 p4 0 Va {-turning * ratio * lm:.15g}",
        f"Lr2 0 q1 {rotor:.15g}{initial(3)}", f"Rr2 q1 q2 {motor.rotor_resistance:.12g}", "Vr2 q2 q3 0",
        f"H21 q3 q4 Vr1 {turning * rotor:.15g}", f"H22 q4 0 Vm {turning * lm:.15g}",
        f"Km Lm Lr1 {lm / np.sqrt(main * rotor):.15g}", f"Ka La Lr2 {ratio * lm / np.sqrt(aux * rotor):.15g}"]
    return lines


def run(lines, commands):
    """Run the batch and return its output. Anything but a clean run is an error."""
    text = "\n".join([*lines, ".options reltol=1e-6 abstol=1e-10 vntol=1e-7", ".control", *commands, "quit 0", ".endc", ".end", ""])
    done = subprocess.run(["ngspice", "-b", "/dev/stdin"], input=text, capture_output=True, text=True, timeout=120)
    if "rror" in done.stderr + done.stdout:
        raise RuntimeError(done.stdout + done.stderr)
    return done.stdout


def phasors(circuit, mask, names):
    """Steady phasors of these vectors (r.m.s., supply real) at the supply frequency."""
    frequency = circuit.motor.frequency
    prints = [f"print real({name}) imag({name})" for name in names]
    out = run(netlist(circuit, mask), [f"ac lin 1 {frequency} {frequency}", "set numdgt=12", *prints])
    numbers = [float(value) for value in re.findall(r"= *\(?([-+0-9.eE]+)", out)]
    pairs = numbers[-2 * len(names):]
    return [complex(real, imaginary) for real, imaginary in zip(pairs[::2], pairs[1::2])]


def peaks(circuit, mask, *, start, phase, duration, names, step, closing=None):
    """Largest absolute value of each vector over a transient from `start`."""
    lines = netlist(circuit, mask, start=start, phase=phase, closing=closing)
    commands = [f"tran {step} {duration} 0 {step} uic", "set numdgt=12"]
    for place, name in enumerate(names):
        commands += [f"let top{place} = vecmax(abs({name}))", f"print top{place}"]
    out = run(lines, commands)
    return [float(re.search(rf"top{place} = ([-+0-9.eE]+)", out).group(1)) for place in range(len(names))]
