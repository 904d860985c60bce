import { quoted } from './cell.ts'
import type { LaboratoryReport, LaboratorySample } from './report.ts'

export type SampleChoice =
  | { readonly ok: true; readonly sample: LaboratorySample }
  /** `labels` are those that can be asked for */
  | { readonly ok: false; readonly labels: readonly string[]; readonly message: string }

/** The sample of that label; without a label the only one. Upper and lower case are alike. */
export function chooseSample({ samples }: LaboratoryReport, label?: string): SampleChoice {
  const labels = samples.map((sample) => sample.label)
  const asked = label?.trim().toLowerCase()
  const fitting = asked === undefined ? samples : samples.filter((sample) => sample.label.toLowerCase() === asked)
  if (fitting.length === 1) return { ok: true, sample: fitting[0]! }
  const found =
    label === undefined ? `The report holds ${samples.length} samples` : `The report holds no sample ${quoted(label)}`
  return { ok: false, labels, message: `${found}; choose one of ${labels.join(', ')}.` }
}
