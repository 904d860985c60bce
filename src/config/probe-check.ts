/** Probes: what each role may be measured in, and which roles must be there. */

import { type Quantity, UNIT_CODES, type UnitCode, unitFits } from '../contract/unit.ts'
import type { ConfigurationError } from './configuration-error.ts'
import { faultAt, faultAtKey, type Item, itemsAt, type Look, type Looks, valueAt } from './look.ts'
import type { PROBE_ROLES } from './site-schema.ts'

type Role = (typeof PROBE_ROLES)[number]

/** What each role is measured as; a flow switch is a switch, and a meter of make-up water counts a volume. */
const ROLE_QUANTITIES: Readonly<Record<Role, readonly Quantity[]>> = {
  conductivity: ['conductivity'],
  ph: ['ph'],
  temperature: ['temperature'],
  level: ['level'],
  'top-up': ['volume'],
  flow: ['flow', 'switch'],
  'hold-switch': ['switch'],
  leak: ['switch'],
}

/** Without these nothing can be dosed. */
const REQUIRED: readonly Role[] = ['conductivity', 'ph', 'temperature']
/** These may be missing, but only said aloud. */
const DECLARED: readonly Role[] = ['level', 'top-up', 'flow']

const WHY: Readonly<Record<Role, string>> = {
  conductivity: 'without it no dose can be seen to arrive',
  ph: 'without it acid cannot be judged',
  temperature: 'without it conductivity cannot be referred to 25 °C',
  level: 'without it the smallest volume is reckoned with',
  'top-up': 'without it the water used is only estimated',
  flow: 'without it a standing circulation is not seen',
  'hold-switch': 'without it dosing is held by an instruction only',
  leak: 'without it a leak shows only in the level',
}

/** Units that fit their roles, required roles, and roles declared missing. */
export function checkProbes({ site }: Looks): ConfigurationError[] {
  const probes = itemsAt(site, 'probes')
  if (!Array.isArray(valueAt(site, 'probes'))) return []
  const fitted = new Set(probes.map(({ fields }) => fields.role))
  const declarations = itemsAt(site, 'notFitted')
  const declared = new Set(declarations.map(({ fields }) => fields.role))
  return [
    ...probes.flatMap((probe) => unfitUnit(site, probe)),
    ...REQUIRED.filter((role) => !fitted.has(role)).map((role) => missing(site, role, 'Add one')),
    ...DECLARED.filter((role) => !fitted.has(role) && !declared.has(role)).map((role) =>
      missing(site, role, 'Add one, or name the role with a reason in notFitted'),
    ),
    ...declarations.flatMap((declaration) => wrongDeclaration(site, declaration, fitted)),
  ]
}

/** Whether a probe of this role may send this unit. */
function unitFitsRole(unit: UnitCode, role: Role): boolean {
  return ROLE_QUANTITIES[role].some((quantity) => unitFits(unit, quantity))
}

function unfitUnit(site: Look, { fields, path }: Item): ConfigurationError[] {
  const { role, unit } = fields
  if (!isRole(role) || !isUnit(unit) || unitFitsRole(unit, role)) return []
  const allowed = UNIT_CODES.filter((code) => unitFitsRole(code, role)).join(', ')
  const message = `A ${role} probe cannot send this unit.`
  return [faultAt(site, [...path, 'unit'], { allowed, message })]
}

function missing(site: Look, role: Role, what: string): ConfigurationError {
  const message = `${what}: ${WHY[role]}.`
  return faultAtKey(site, ['probes'], { found: `no ${role} probe`, allowed: `a probe of role ${role}`, message })
}

function wrongDeclaration(site: Look, { fields, path }: Item, fitted: ReadonlySet<unknown>): ConfigurationError[] {
  const { role } = fields
  if (!isRole(role)) return []
  const at = [...path, 'role']
  if (REQUIRED.includes(role)) {
    return [faultAt(site, at, { allowed: DECLARED.join(', '), message: `No site can do without it: ${WHY[role]}.` })]
  }
  if (!fitted.has(role)) return []
  return [
    faultAt(site, at, {
      allowed: 'roles that no probe has',
      message: 'It stands among the probes; remove one of the two.',
    }),
  ]
}

function isRole(role: unknown): role is Role {
  return typeof role === 'string' && Object.hasOwn(ROLE_QUANTITIES, role)
}

function isUnit(unit: unknown): unit is UnitCode {
  return typeof unit === 'string' && (UNIT_CODES as readonly string[]).includes(unit)
}
