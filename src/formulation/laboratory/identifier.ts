/** Names as programs spell them: ‘nitrate_n_mg_per_l’, ‘ec_us_cm’, ‘calciumMgPerL’. */

import { FORMS } from '../../chemistry/form.ts'

const IDENTIFIER = /^[A-Za-z][A-Za-z0-9]*(?:_[A-Za-z0-9]+)*$/
const UNIT = /[_ ](mg|ug|ng|g|mmol|umol|mol|meq|mval)[_ ]?(?:per[_ ])?l(?![A-Za-z0-9])/i
const CONDUCTIVITY = /[_ ](ds|ms|us)[_ ](?:per[_ ])?(c?m)(?![A-Za-z0-9])/i
const HUMPED = /(?<=[a-z0-9])(Mg|Ug|Ng|G|Mmol|Umol|Mol|Meq|Ds|Ms|Us)Per(L|Cm|M)$/
const AS = /[_ ]as[_ ](\w+)/i

/** The name with its unit and form as a person writes them; any other name as it is. */
export function spelledOut(name: string): string {
  if (!IDENTIFIER.test(name.trim())) return name
  return name
    .trim()
    .replace(
      HUMPED,
      (_whole, head: string, per: string) => ` ${head.toLowerCase()}/${per === 'L' ? per : per.toLowerCase()}`,
    )
    .replace(UNIT, (_whole, head: string) => ` ${head.toLowerCase()}/L`)
    .replace(CONDUCTIVITY, (_whole, head: string, per: string) => ` ${head.toLowerCase()}/${per.toLowerCase()}`)
    .replace(AS, (_whole, form: string) => ` as ${formSpelled(form)}`)
}

function formSpelled(form: string): string {
  const plain = form.toLowerCase()
  return plain === 'n' ? 'N' : (['CaCO3', ...FORMS].find((one) => one.toLowerCase() === plain) ?? form)
}
