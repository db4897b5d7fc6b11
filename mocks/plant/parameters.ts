/**
 * What the simulated radio is made of. SI units unless the name says otherwise; the symbol that the
 * equations of the model use stands beside each. A radio fault is a changed entry, nothing else.
 */
export interface RadioParameters {
  // Synthesiser
  /** L0 */ readonly coilHenry: number
  /** kL: share of the inductance per turn of the slug. */ readonly coilPerTurn: number
  /** tcL */ readonly coilPerKelvin: number
  /** Cf */ readonly fixedFarad: number
  /** Cx: switched in while transmitting. */ readonly transmitFarad: number
  /** Cj0 */ readonly varactorFarad: number
  /** phi */ readonly varactorVolts: number
  /** gamma */ readonly varactorExponent: number
  /** Vmin, Vmax: at either rail the loop is unlocked. */ readonly railLowVolts: number
  readonly railHighVolts: number
  /** IF1 */ readonly firstIfHz: number

  // Reference oscillator
  /** C1 */ readonly crystalMotionalFarad: number
  /** C0 */ readonly crystalShuntFarad: number
  /** Cfix */ readonly padFarad: number
  /** Ct0, Ct1: the trimmer, least and most. */ readonly trimmerLeastFarad: number
  readonly trimmerMostFarad: number
  /** CLref */ readonly loadReferenceFarad: number
  /** a1, a3 */ readonly crystalPerKelvin: number
  readonly crystalPerKelvinCubed: number
  /** dTrx, tau_rx: warm-up from switching on. */ readonly warmUpKelvin: number
  readonly warmUpSeconds: number
  /** dTtx, tau_tx: what transmitting adds. */ readonly keyedKelvin: number
  readonly keyedSeconds: number
  /** age */ readonly crystalAgedPpm: number

  // Transmitter
  /** s1, s2: normalised detuning per turn of DK and OK. */ readonly driverPerTurn: number
  readonly outputPerTurn: number
  /** kappa squared */ readonly couplingSquared: number
  /** Slop of a loose output core behind the tool, turns each way; 0 for a sound one. */ readonly looseCoreTurns: number
  /** Q1, Q2 */ readonly driverQ: number
  readonly outputQ: number
  /** D0 */ readonly driveAtNormal: number
  /** drv */ readonly driveShare: number
  /** Vth */ readonly driveFromVolts: number
  /** Vsat */ readonly saturationVolts: number
  /** c, W/V^2 */ readonly wattsPerVoltSquared: number
  /** m */ readonly loopKnee: number
  /** Ps_lo, Ps_span: FM power preset. */ readonly presetLeastWatts: number
  readonly presetSpanWatts: number
  /** AM carrier preset: 0.2 + 2.3 pot. */ readonly carrierLeastWatts: number
  readonly carrierSpanWatts: number
  /** aH */ readonly powerPerKelvin: number
  /** RthH */ readonly heatKelvinPerWatt: number
  /** tauH */ readonly heatSeconds: number
  /** Irx, Idr, kI (A per root watt) */ readonly receiveAmps: number
  readonly driverAmps: number
  readonly ampsPerRootWatt: number
  /** loop: whether the power loop works. */ readonly loopWorks: boolean
  /** loss_db: common path behind the detector, both directions. */ readonly pathLossDb: number
  /** Rlead: from the supply's terminals to the plug. */ readonly leadOhm: number
  /** Across the plug, before everything else; Infinity where nothing leaks. */ readonly shuntOhm: number
  /** The plug is the wrong way round: the polarity diode is all that the supply sees. */ readonly reversed: boolean
  /** Share of the final's current that is left when its power has nowhere to go. */ readonly unloadedShare: number

  // Modulation
  /** Kd, Hz peak */ readonly deviationHz: number
  /** g per volt (0.2122 per mV) */ readonly microphoneGain: number
  /** p */ readonly limiterKnee: number
  /** L+, L- */ readonly limiterUp: number
  readonly limiterDown: number
  /** asym, at V_TX 2.60 V; 0.01 per volt from there. */ readonly asymmetry: number
  readonly asymmetryPerVolt: number
  /** mAM */ readonly amGain: number
  /** Residual FM of a healthy set, Hz peak, before the meter's own. */ readonly residualHz: number

  // Receiver
  /** B */ readonly bandwidthHz: number
  /** Frf, Gmax, Fmix */ readonly frontNoise: number
  readonly frontGain: number
  readonly mixerNoise: number
  /** Lin, Lo, dB */ readonly inputLossDb: number
  readonly otherLossDb: number
  /** r1, r2, r3 per turn: AK, BK, CK. */ readonly aerialPerTurn: number
  readonly interstagePerTurn: number
  readonly ifPerTurn: number
  /** pad, dB, receive path only */ readonly padDb: number
  /** g, rt */ readonly audioGain: number
  readonly thresholdRatio: number
  /** d0, dq (per kHz^2), dIF (kHz) */ readonly distortion: number
  readonly distortionPerKhzSquared: number
  readonly ifOffsetKhz: number
  /** sq0, sqspan, hyst: dB */ readonly squelchLeastDb: number
  readonly squelchSpanDb: number
  readonly squelchHysteresisDb: number
  /** P9, dB per S unit, offset */ readonly meterNineDbm: number
  readonly meterStepDb: number
  readonly meterOffset: number
  /** RL, Vdrop, volB, det, cross */ readonly speakerOhm: number
  readonly audioDropVolts: number
  readonly volumeCurve: number
  readonly detectorShare: number
  readonly crossover: number
}

/** The healthy Brackwater 27-M (invented), as tests/reference/plant.json has it. */
export const HEALTHY: RadioParameters = {
  coilHenry: 1.2e-6,
  coilPerTurn: 0.025,
  coilPerKelvin: 80e-6,
  fixedFarad: 63.18e-12,
  transmitFarad: 37.09e-12,
  varactorFarad: 30e-12,
  varactorVolts: 0.7,
  varactorExponent: 0.5,
  railLowVolts: 0.3,
  railHighVolts: 4.7,
  firstIfHz: 10.695e6,
  crystalMotionalFarad: 10e-15,
  crystalShuntFarad: 5e-12,
  padFarad: 13e-12,
  trimmerLeastFarad: 4e-12,
  trimmerMostFarad: 14e-12,
  loadReferenceFarad: 21.067e-12,
  crystalPerKelvin: -0.25e-6,
  crystalPerKelvinCubed: 1e-10,
  warmUpKelvin: 12,
  warmUpSeconds: 420,
  keyedKelvin: 3,
  keyedSeconds: 45,
  crystalAgedPpm: 0,
  driverPerTurn: 2.7,
  outputPerTurn: 1.8,
  couplingSquared: 0.49,
  looseCoreTurns: 0,
  driverQ: 30,
  outputQ: 20,
  driveAtNormal: 1.4,
  driveShare: 1,
  driveFromVolts: 1.5,
  saturationVolts: 0.8,
  wattsPerVoltSquared: 0.03,
  loopKnee: 16,
  presetLeastWatts: 0.8,
  presetSpanWatts: 6.7,
  carrierLeastWatts: 0.2,
  carrierSpanWatts: 2.3,
  powerPerKelvin: 0.0012,
  heatKelvinPerWatt: 2.6,
  heatSeconds: 60,
  receiveAmps: 0.3,
  driverAmps: 0.15,
  ampsPerRootWatt: 0.4,
  loopWorks: true,
  pathLossDb: 0,
  leadOhm: 0.05,
  shuntOhm: Number.POSITIVE_INFINITY,
  reversed: false,
  unloadedShare: 0.6,
  deviationHz: 3800,
  microphoneGain: 212.2,
  limiterKnee: 6,
  limiterUp: 1,
  limiterDown: 1,
  asymmetry: 0.02,
  asymmetryPerVolt: 0.01,
  amGain: 1.15,
  residualHz: 0,
  bandwidthHz: 8e3,
  frontNoise: 2,
  frontGain: 12,
  mixerNoise: 20,
  inputLossDb: 2,
  otherLossDb: 1,
  aerialPerTurn: 2.4,
  interstagePerTurn: 2.4,
  ifPerTurn: 2,
  padDb: 0,
  audioGain: 4,
  thresholdRatio: 3.2,
  distortion: 0.025,
  distortionPerKhzSquared: 0.05,
  ifOffsetKhz: 0,
  squelchLeastDb: -1,
  squelchSpanDb: 70,
  squelchHysteresisDb: 3,
  meterNineDbm: -67,
  meterStepDb: 6,
  meterOffset: 0,
  speakerOhm: 8,
  audioDropVolts: 0.8,
  volumeCurve: 4,
  detectorShare: 1,
  crossover: 0.01,
}
